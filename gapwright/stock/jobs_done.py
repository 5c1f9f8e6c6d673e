"""A history out of the shop's own books: the spaces of the jobs that the ledger issued parts to.

The ledger knows what was issued to which job; the job's file knows which spaces it had.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import inventory
from specs.errors import InputError, Problem
from specs.files.history import History
from specs.files.read import Seen, case_of
from specs.files.read_many import FILES
from specs.formats.yaml import read
from specs.gaps.varied_reading import move_space

if TYPE_CHECKING:
    from pathlib import Path

    from specs.models.case import Case
    from specs.values.lengths import Length


def history_of_jobs(folder: Path, unit: Path, shelf: str | None) -> History:
    """The drums of the job files of a folder, where a ledger is given of those it issued to.

    The columns are the packs and end plays that every one of them was read for. Raises InputError
    where a file cannot be read, or nothing is left.
    """
    needs = ("unit", "job") if shelf is None else ("unit", "shelf", "job")
    seen = Seen()
    files = [path for path in sorted(folder.iterdir()) if path.suffix.lower() in FILES]
    jobs = [source for source in map(read, files) if "job" in source.data]
    cases = [case_of(job, unit, shelf, seen, needs=needs) for job in jobs]
    issued = _issued(cases, shelf)
    done = [case for case in cases if case.job.name in issued]
    spaces = [{name: move_space(case, name).stands for name in case.unit.gaps} for case in done]
    names = [*spaces[0]] if spaces else []
    columns = tuple(name for name in names if all(row[name] is not None for row in spaces))
    if not columns:
        found = f"found {len(cases)} job files (.yaml, .yml), {len(done)} of them with parts issued"
        sentence = f"{found}, and no pack or end play that is read in all of these"
        raise InputError(Problem(sentence, str(folder)))
    rows: Counter[tuple[Length | None, ...]] = Counter(
        tuple(row[name] for name in columns) for row in spaces
    )
    return History(str(folder), columns, rows)


def _issued(cases: list[Case], shelf: str | None) -> set[str]:
    """The jobs that parts were issued to; all where no ledger says."""
    if shelf is None or not any(case.ledger for case in cases):
        return {case.job.name for case in cases}
    with inventory.open_shelf(shelf) as ledger:
        return {entry.movement.job for entry in ledger.history(kind="issue")}
