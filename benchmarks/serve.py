"""The bench page: from a form that is sent to the page that answers it, against the solver alone.

The page runs as a process of its own, as `gapwright serve` starts it, on the demo's unit. What it
takes beyond `solver.rebuild.fit` is reading the files, looking around the answer, drawing and
writing the page, and the way there and back. The aim is for the processor time of answering, asked
of the page in this process, which a busy machine does not lengthen. It was 50 ms before the page
showed the chart of a pack's heat; drawing that takes 34 of 95 ms (2026-12-01), so it is 90 now.
"""

from __future__ import annotations

import http.client
import socket
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from gapwright.demo import write_demo
from gapwright.fit.service import fit_job, ready
from gapwright.shelf.on_hand import stock_of
from solver import fit
from solver.engines.limits import Limits
from solver.problem.from_case import instance_of
from specs.files.read import read_case

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from solver.problem.instance import Instance

CASE = "serve"
PAGE, ALONE, SERVICE = "GET /fit", "solver.rebuild.fit", "gapwright.fit_job"
FIT = "/fit?from=job.yaml"
ON_TOP = 0.090  # seconds of the processor the page may take beyond the solver
AT_ONCE = 50
SECONDS = 60


def run(*, quick: bool) -> list[Row | Skipped]:
    """Ask the page, the service and the solver in turns; then the page many times at once."""
    if any(find_spec(name) is None for name in ("fastapi", "uvicorn", "jinja2", "segno")):
        return [Skipped(CASE, "the extra `serve` is not installed")]
    with TemporaryDirectory() as name:
        folder = Path(name) / "demo"
        job = write_demo(folder)[0]
        with _served(folder) as port:
            instance = _task(job)
            ways = {
                PAGE: lambda: _asked(port, FIT),
                SERVICE: lambda: fit_job(job),
                ALONE: lambda: fit(instance),
            }
            in_turns(ways, 2)  # the first answers import the engine
            number = 2 if quick else 25
            rounds = [in_turns(ways, 1) for _ in range(number)]
            here = {PAGE: _page(folder), ALONE: ways[ALONE]}
            in_turns(here, 1)  # the first page imports what draws it
            works = in_turns(here, number, time.process_time)
            crowd = _crowd(port, 5 if quick else AT_ONCE)
    seconds = {name: tuple(each[name] for each in rounds) for name in ways}
    more = works[PAGE] - works[ALONE]
    verdict = "within" if more <= ON_TOP else "beyond"
    on_top = f"{1000 * more:.0f} ms of the processor on top"
    note = f"{on_top}, {verdict} the {1000 * ON_TOP:.0f} aimed at; {crowd}"
    return [
        Row(CASE, PAGE, ALONE, seconds[PAGE], seconds[ALONE], note=note),
        Row(CASE, PAGE, SERVICE, seconds[PAGE], seconds[SERVICE]),
    ]


def _task(job: Path) -> Instance:
    case = read_case(job)
    solved, _ = ready(case)
    return instance_of(case, stock_of(case, solved).all, solved)


def _page(folder: Path) -> Callable[[], object]:
    """Return what answers the request of `_asked` in this process, without the way there."""
    from gapwright.web.folder import Shop
    from gapwright.web.pages.fit import fit as page
    from gapwright.web.request import PageRequest

    shop = Shop(folder)
    fields = (("from", "job.yaml"),)
    return lambda: page(PageRequest(shop, "/fit", fields, limits=Limits(SECONDS)))


def _asked(port: int, path: str) -> bytes:
    """Ask once, as a browser does; RuntimeError where no answer comes."""
    connection = http.client.HTTPConnection("localhost", port, timeout=60)
    connection.request("GET", path)
    answer = connection.getresponse()
    text = answer.read()
    connection.close()
    if answer.status != http.HTTPStatus.OK or b"FITS" not in text:
        raise RuntimeError(f"{path} answers {answer.status}")
    return text


def _crowd(port: int, number: int) -> str:
    """Ask so many times at once, and say how many answers were lost and how long the last took."""
    begun = time.perf_counter()
    with ThreadPoolExecutor(number) as people:
        asked = [people.submit(_asked, port, FIT) for _ in range(number)]
        lost = sum(one.exception() is not None for one in asked)
    return f"{number} at once: {lost} lost, the last after {time.perf_counter() - begun:.1f} s"


@contextmanager
def _served(folder: Path) -> Iterator[int]:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "gapwright", "serve", str(folder), "--port", str(port)]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as page:
        try:
            while page.poll() is None and not _listens(port):
                time.sleep(0.05)
            yield port
        finally:
            page.terminate()


def _listens(port: int) -> bool:
    with socket.socket() as knock:
        return knock.connect_ex(("127.0.0.1", port)) == 0
