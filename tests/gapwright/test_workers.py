"""Work spread over processes or a cluster: the same answers, in order, and everybody gone after."""

from __future__ import annotations

import os
import pickle
import signal
import socket
import subprocess
import sys
import textwrap
import time
from multiprocessing import active_children
from pathlib import Path

import pytest

from gapwright import workers
from gapwright.extras import check_extra
from gapwright.workers import cores, executor_of
from inventory.movements import Movement, Part
from inventory.refusals import Shortage, ShortShelfError
from specs.errors import InputError, Problem
from specs.values.lengths import Length

HOME = Path(__file__).parents[2]
ITEMS = [5, 3, 8, 1, 7, 2]


def slow_square(number: int) -> tuple[int, int]:
    """A square, the greater the number the later; and who made it."""
    time.sleep(number / 200)
    return number * number, os.getpid()


def refuse(number: int) -> int:
    if number == 8:
        raise InputError(Problem(f"write less than {number}", "job.yaml", 3, "gap"))
    return number


def die(number: int) -> int:
    if number == 8:
        os._exit(3)
    return number


def nobody_left() -> bool:
    """Whether no process of an executor of this machine is left; a cluster of the tests may be."""
    return all(process.name.startswith("Dask") for process in active_children())


SQUARES = [number * number for number in ITEMS]


@pytest.mark.parametrize("workers", [1, 2])
def test_what_comes_back_is_in_the_order_of_the_items(workers: int) -> None:
    with executor_of(workers) as executor:
        done = list(executor.map(slow_square, ITEMS))
        again = list(executor.map(slow_square, ITEMS[::-1]))
    assert [square for square, _ in done] == SQUARES
    assert [square for square, _ in again] == SQUARES[::-1]
    who = {pid for _, pid in done}
    assert (os.getpid() in who) is (workers == 1)
    assert len(who) <= workers
    assert nobody_left()


def test_all_cores_work_where_no_number_is_given() -> None:
    assert 1 <= cores() <= (os.cpu_count() or 1)
    with executor_of() as executor:
        assert [square for square, _ in executor.map(slow_square, ITEMS)] == SQUARES


@pytest.mark.parametrize("workers", [1, 2])
def test_what_the_work_refuses_is_told_as_it_was_there(workers: int) -> None:
    with pytest.raises(InputError) as refused, executor_of(workers) as executor:
        list(executor.map(refuse, ITEMS))
    assert refused.value.problems == (Problem("write less than 8", "job.yaml", 3, "gap"),)
    assert str(refused.value) == "job.yaml:3: gap: write less than 8"
    assert nobody_left()


def test_every_error_comes_whole_out_of_another_process() -> None:
    part = Part("steel", "thin", Length(1_752_600))
    short = ShortShelfError("shop.db", (Shortage(Movement("issue", part, 2), 1, 1, (("J-1", 1),)),))
    again = pickle.loads(pickle.dumps(short))  # noqa: S301 - our own
    assert (type(again), str(again)) == (ShortShelfError, str(short))
    assert again.shortages == short.shortages
    assert again.problems == short.problems


def test_a_process_that_dies_is_told_in_a_sentence() -> None:
    with pytest.raises(InputError, match=r"ended in the middle of its work; .*--workers 1"):  # noqa: SIM117
        with executor_of(2) as executor:
            list(executor.map(die, ITEMS))
    assert nobody_left()


def test_ctrl_c_ends_everybody_and_prints_nothing_of_theirs(tmp_path: Path) -> None:
    script = """
        import os, sys, time
        from gapwright.workers import executor_of
        def work(item):
            open(f"{sys.argv[1]}/{os.getpid()}", "w").close()
            time.sleep(60)
        if __name__ == "__main__":
            try:
                with executor_of(2) as executor:
                    list(executor.map(work, range(4)))
            except KeyboardInterrupt:
                print("stopped")
    """
    (tmp_path / "at_work").mkdir()
    (tmp_path / "script.py").write_text(textwrap.dedent(script), encoding="utf-8")
    asked = subprocess.Popen(
        [sys.executable, str(tmp_path / "script.py"), str(tmp_path / "at_work")],
        cwd=HOME, env={**os.environ, "PYTHONPATH": str(HOME)}, start_new_session=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    for _ in range(400):
        if len(list((tmp_path / "at_work").iterdir())) == 2:
            break
        time.sleep(0.05)
    os.killpg(asked.pid, signal.SIGINT)  # as a terminal does: everybody hears it
    out, err = asked.communicate(timeout=20)
    assert (out, err) == ("stopped\n", "")
    for worker in (tmp_path / "at_work").iterdir():
        with pytest.raises(ProcessLookupError):
            os.kill(int(worker.name), 0)


@pytest.mark.face
def test_a_cluster_gives_the_same_in_the_same_order(two_workers: str) -> None:
    with executor_of(cluster=two_workers) as executor:
        done = list(executor.map(slow_square, ITEMS))
    assert [square for square, _ in done] == SQUARES
    assert len({pid for _, pid in done}) == 2
    assert os.getpid() not in {pid for _, pid in done}


def test_what_a_cluster_refuses_is_told_as_it_was_there(two_workers: str) -> None:
    with pytest.raises(InputError) as refused, executor_of(cluster=two_workers) as executor:
        list(executor.map(refuse, ITEMS))
    assert refused.value.problems == (Problem("write less than 8", "job.yaml", 3, "gap"),)


def test_a_cluster_with_other_software_is_not_asked(
    two_workers: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workers, "SAME", ("gapwright", "click"))
    with pytest.raises(InputError, match=r"its workers have highspy .*: have the same on both"):  # noqa: SIM117
        with executor_of(cluster=two_workers):
            pass


@pytest.mark.parametrize(
    ("address", "sentence"),
    [
        ("nowhere", "is no address; write it such as tcp://10.0.0.5:8786"),
        ("pigeon://here:1", "is no address; write it such as tcp://10.0.0.5:8786"),
        ("tcp://127.0.0.1:999999", "no Dask scheduler answers there; start one"),
        ("tcp://127.0.0.1:9", "no Dask scheduler answers there; start one with `dask scheduler`"),
    ],
)
def test_an_address_that_cannot_be_reached_is_told(address: str, sentence: str) -> None:
    with pytest.raises(InputError) as refused, executor_of(cluster=address):
        pass
    assert str(refused.value).startswith(f"--cluster {address}: {sentence}")


def test_somebody_else_at_the_address_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "SECONDS", 0.2)
    with socket.create_server(("127.0.0.1", 0)) as other:
        address = f"tcp://127.0.0.1:{other.getsockname()[1]}"
        with pytest.raises(InputError, match="no Dask scheduler answers there"):  # noqa: SIM117
            with executor_of(cluster=address):
                pass


def test_workers_and_a_cluster_are_not_asked_for_together() -> None:
    with (
        pytest.raises(InputError, match="leave it out with --cluster"),
        executor_of(2, "tcp://a:1"),
    ):
        pass


def test_the_extra_is_named_where_it_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gapwright.extras.find_spec", lambda _: None)
    with pytest.raises(InputError) as refused:
        check_extra("cluster", "--cluster")
    wanted = "--cluster: needs dask and distributed: pip install 'gapwright[cluster]'"
    assert str(refused.value) == wanted
