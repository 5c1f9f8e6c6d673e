"""5,000 jobs listed with their states, against reading and validating their files once."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from shutil import copy
from tempfile import TemporaryDirectory
from time import process_time
from typing import TYPE_CHECKING

import gapwright
from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from gapwright.fit.service import fit_case
from gapwright.jobs.service import list_jobs
from gapwright.record.book import read_book
from gapwright.record.promise import promise_of
from gapwright.shelf.import_export import ImportOptions, import_counts
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Note, Request
from specs.files.notes import PROMISE, note_text
from specs.files.read import case_of, read_case
from specs.files.read_many import read_cases
from specs.formats.yaml import parse
from specs.formats.yaml_text import flow
from specs.models.record import plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from inventory.movements import Part
    from specs.models.record import Promised

DEMO = Path(gapwright.__file__).parent / "demo"
JOBS, AIM, STATES = 5_000, 1.2, 3
MEASURED = "gap: [.018, .020, .019]}"


def run(*, quick: bool) -> list[Row | Skipped]:
    """List jobs of a whole unit with shelves as files, then with a ledger."""
    number, rounds = (60, 3) if quick else (JOBS, 1)
    return [_row(shelf, number, rounds) for shelf in ("shelf.yaml", "shop.db")]


def _row(shelf: str, number: int, rounds: int) -> Row:
    with TemporaryDirectory() as name:
        folder = Path(name)
        _fill(folder, shelf, number)
        ways: dict[str, Callable[[], object]] = {
            "jobs": partial(list_jobs, [folder], closed=True),
            "read": partial(_read, folder, shelf),
        }
        found = list_jobs([folder], closed=True)
        if len(found.jobs) != number or len({job.state.name for job in found.jobs}) < STATES:
            raise RuntimeError("not all jobs are listed, or they are all alike")
        seconds = in_turns(ways, rounds, process_time)
    kind = "ledger" if shelf.endswith(".db") else "files"
    return Row(
        f"list {number:,} jobs, {kind}", "jobs", "reading them",
        (seconds["jobs"],), (seconds["read"],), AIM,
    )  # fmt: skip


def _read(folder: Path, shelf: str) -> None:
    """Read and validate every job, and every promise where a ledger keeps them."""
    cases = read_cases([folder])
    if shelf.endswith(".db"):
        book = read_book(str(folder / shelf))
        for case in cases:
            book.promised(case.job.name)


def _fill(folder: Path, shelf: str, number: int) -> None:
    """Put jobs into a folder: a third promised, a third built after that, the others to choose."""
    for file in ("unit.yaml", "shelf.yaml"):
        copy(DEMO / file, folder)
    text = (DEMO / "job.yaml").read_text("utf-8").replace("shelf.yaml", shelf)
    made = promise_of(fit_case(read_case(DEMO / "job.yaml")), "2031-04-02")
    promises: list[tuple[str, Promised]] = []
    for nth in range(number):
        name = f"J-{nth}"
        job = text.replace("J-1042", name)
        if nth % 3:
            promised = made.model_copy(update={"job": name})
            promised = promised.model_copy(update={"answer": promised.code})
            promises.append((name, promised))
            if shelf == "shelf.yaml":
                job += f"  promised: {flow(plain(promised, 'in'))}\n"
        if nth % 3 == 1:
            job = job.replace(MEASURED, f"{MEASURED[:-1]}, as built: .0466}}")
        (folder / f"{name}.yaml").write_text(job, encoding="utf-8")
    case_of(parse(job, str(folder / "job.yaml")))
    if shelf != "shelf.yaml":
        _post(folder, promises)


def _post(folder: Path, promises: list[tuple[str, Promised]]) -> None:
    """Keep promises in a ledger, each with a part reserved or issued."""
    address = str(folder / "shop.db")
    create_shelf(address)
    options = ImportOptions(folder / "shelf.yaml", "add", "in", folder / "unit.yaml", dry=False)
    import_counts(address, options, Author("benchmark"))
    with open_shelf(address) as shelf:
        part = shelf.balances()[0].part
        moves = (Movement("receive", part, len(promises)), *_moves(part, promises))
        notes = (Note(PROMISE, name, note_text(one, "in")) for name, one in promises)
        shelf.post(Request("all", "benchmark", "", moves, tuple(notes)))


def _moves(part: Part, promises: list[tuple[str, Promised]]) -> Iterator[Movement]:
    for nth, (name, _) in enumerate(promises):
        yield Movement("issue" if nth % 4 else "reserve", part, 1, name)
