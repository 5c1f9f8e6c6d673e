"""Turns at the solver: in rotation, none lost, none begun for nobody, and stopped when asked."""

from __future__ import annotations

import signal
import socket
import subprocess
import time
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from contextlib import contextmanager
from threading import Event, Thread
from typing import TYPE_CHECKING, Any
from urllib.request import urlopen

import pytest
import uvicorn

from gapwright.demo import write_demo
from gapwright.web.app import Server, app_of
from gapwright.web.fair_queue import MOST_WAITING, FairQueue, QueueFullError
from gapwright.web.folder import Shop
from gapwright.web.request import PageRequest, PageResponse, Route
from gapwright.web.security import LOOPBACK, Sessions
from solver import Fit, Undecided, fit
from solver.problem import judge
from tests.amounts import times
from tests.commands import COMMAND, HOME, environment, refused
from tests.gapwright.web.serve_command import answers, served, until
from tests.oracles.random_jobs import hard_task

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from gapwright.web.app import App
    from solver.engines.limits import Limits

SOON = 5.0


@pytest.fixture
def turns() -> Iterator[FairQueue]:
    turns = FairQueue(30.0)
    yield turns
    turns.close()


def ask(turns: FairQueue, who: str, work: Callable[[Limits], object]) -> Future[object]:
    answer: Future[object] = Future()
    turns.ask(who, work, answer)
    return answer


def saying(order: list[str], word: str) -> Callable[[Limits], object]:
    return lambda _: order.append(word)


def test_whoever_asks_once_does_not_wait_for_one_who_asks_often(turns: FairQueue) -> None:
    begun, go_on = Event(), Event()
    order: list[str] = []

    def first(_: Limits) -> None:
        begun.set()
        go_on.wait(SOON)

    asked = [ask(turns, "greedy", first)]
    assert begun.wait(SOON)
    words = ("greedy 0", "greedy 1", "greedy 2", "modest", "late")
    asked += [ask(turns, word.partition(" ")[0], saying(order, word)) for word in words]
    go_on.set()
    for answer in asked:
        answer.result(SOON)
    assert order == ["greedy 0", "modest", "late", "greedy 1", "greedy 2"]


def test_what_nobody_waits_for_is_not_begun(turns: FairQueue) -> None:
    go_on = Event()
    waiting = ask(turns, "one", lambda _: go_on.wait(SOON))
    dropped = ask(turns, "two", lambda _: pytest.fail("nobody waits for this"))
    assert dropped.cancel()
    last = ask(turns, "three", lambda _: "answered")
    go_on.set()
    assert waiting.result(SOON)
    assert last.result(SOON) == "answered"
    with pytest.raises(CancelledError):
        dropped.result(0)


def test_an_error_is_told_to_whoever_asked_and_to_nobody_else(turns: FairQueue) -> None:
    def wrong(_: Limits) -> None:
        raise ValueError("wrong")

    failed, fine = ask(turns, "one", wrong), ask(turns, "two", lambda _: 1)
    with pytest.raises(ValueError, match="wrong"):
        failed.result(SOON)
    assert fine.result(SOON) == 1


def test_so_many_may_wait_and_no_more(turns: FairQueue) -> None:
    begun, go_on = Event(), Event()

    def first(_: Limits) -> None:
        begun.set()
        go_on.wait(SOON)

    ask(turns, "one", first)
    assert begun.wait(SOON)
    waiting = [ask(turns, "one", lambda _: None) for _ in range(MOST_WAITING)]
    with pytest.raises(QueueFullError):
        ask(turns, "two", lambda _: None)
    go_on.set()
    for answer in waiting:
        answer.result(SOON)
    assert ask(turns, "two", lambda _: 1).result(SOON) == 1


def test_a_search_in_its_turn_can_be_stopped(turns: FairQueue) -> None:
    """The engine stops in a thread of its own, and what it has is allowed and not called proved."""
    instance, begun = hard_task(), Event()
    answer: Future[Any] = Future()

    def work(limits: Limits) -> object:
        begun.set()
        return fit(instance, limits)

    watch = turns.ask("one", work, answer)
    assert begun.wait(SOON)
    time.sleep(0.3)
    stopped = time.monotonic()
    watch.stop()
    found = answer.result(SOON)
    assert time.monotonic() - stopped < SOON
    assert isinstance(found, Fit | Undecided)
    if isinstance(found, Fit):
        assert not found.proved
        assert judge.faults(instance, found.build) == []


def test_closing_lets_nobody_wait() -> None:
    turns = FairQueue(30.0)
    instance, begun = hard_task(), Event()

    def work(limits: Limits) -> object:
        begun.set()
        return fit(instance, limits)

    running, waiting = ask(turns, "one", work), ask(turns, "two", lambda _: 1)
    assert begun.wait(SOON)
    turns.close()
    assert running.result(SOON) is not None
    assert waiting.cancelled()
    with pytest.raises(QueueFullError):
        ask(turns, "three", lambda _: 1)


def test_many_at_once_are_all_answered(tmp_path: Path) -> None:
    many = times(50, 12)
    write_demo(tmp_path / "demo")
    with served(tmp_path / "demo") as port, ThreadPoolExecutor(many) as people:
        address = f"http://127.0.0.1:{port}/fit?from=job.yaml"

        def look(_: int) -> bytes:
            with urlopen(address, timeout=60) as answer:
                return bytes(answer.read())

        told = [*people.map(look, range(many))]
    assert len(told) == many
    assert all(b"FITS, proved best" in text for text in told)


def test_a_search_nobody_listens_to_any_more_is_stopped(tmp_path: Path) -> None:
    """Who hangs up while his answer is searched for, or before, keeps nobody else waiting."""
    begun, stopped, again = Event(), Event(), Event()

    def slow(visit: PageRequest) -> PageResponse:
        begun.set()
        watch = visit.limits.watch if visit.limits else None
        end = time.monotonic() + SOON
        while watch and not watch.stopped and time.monotonic() < end:
            time.sleep(0.01)
        if watch and watch.stopped:
            stopped.set()
        return PageResponse("slow")

    def never(_: PageRequest) -> PageResponse:
        again.set()
        return PageResponse("never")

    routes = [Route("/slow", slow, solves=True), Route("/never", never, solves=True)]
    app = app_of(Server(Shop(tmp_path), LOOPBACK, Sessions()), routes, dict)
    with in_thread(app) as port:
        first = hung_on(port, "/slow")
        assert begun.wait(SOON)
        second = hung_on(port, "/never")
        time.sleep(0.3)
        second.close()
        time.sleep(0.7)
        first.close()
        assert stopped.wait(SOON)
        with urlopen(f"http://127.0.0.1:{port}/slow", timeout=SOON + 5) as answer:
            assert answer.read() == b"slow"
    assert not again.is_set()


def hung_on(port: int, path: str) -> socket.socket:
    connection = socket.create_connection(("127.0.0.1", port))
    connection.sendall(f"GET {path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
    return connection


@contextmanager
def in_thread(app: App) -> Iterator[int]:
    """The application at a port, in a thread of this very process."""
    with socket.create_server(("127.0.0.1", 0)) as door:
        server = uvicorn.Server(uvicorn.Config(app, log_level="error"))
        running = Thread(target=server.run, args=([door],), daemon=True)
        running.start()
        until(lambda: server.started)
        try:
            yield int(door.getsockname()[1])
        finally:
            server.should_exit = True
            running.join(SOON)


@pytest.mark.face
def test_it_starts_with_its_address_and_ends_with_ctrl_c(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    command = [*COMMAND, "serve", str(tmp_path), "--port", str(port)]
    with subprocess.Popen(
        command, cwd=HOME, env=environment(), stdout=subprocess.PIPE, text=True
    ) as page:
        until(lambda: answers(port))
        page.send_signal(signal.SIGINT)
        told, _ = page.communicate(timeout=SOON)
    assert f"http://localhost:{port}/" in told
    assert page.returncode == 0


def test_a_port_that_is_taken_and_a_folder_that_is_none_are_one_sentence(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        for words, sentence in (
            ([str(tmp_path), "--port", port], f"port {port}: cannot be opened"),
            ([str(tmp_path / "none")], "is no folder; name the one your units"),
            ([str(tmp_path), "--lan", "--token", "short"], "--token: is easily guessed"),
        ):
            (told,) = refused("serve", *words)
            assert sentence in told
