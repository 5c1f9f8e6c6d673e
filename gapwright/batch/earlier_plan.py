"""An earlier plan read from its JSON, so that a new plan keeps what it can of it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from specs.errors import InputError, Problem
from specs.formats.plain_file import content

if TYPE_CHECKING:
    from pathlib import Path

    from solver.batch.instance import Kept

SHAPE = "gapwright batch 3"
SHAPE_OF_SEVERAL = "gapwright batches 3"
READ = {"gapwright batch 1", "gapwright batch 2", SHAPE}
"""The shapes whose jobs, gaps and parts are read: they are the same in each."""
READ_OF_SEVERAL = {"gapwright batches 1", "gapwright batches 2", SHAPE_OF_SEVERAL}


def read_earlier(path: Path) -> dict[str, Kept]:
    """Read from a plan's JSON what it builds of each completed job.

    Returns
    -------
    dict
        For each job, by its name, the layout of each gap and its parts by family and size.

    Raises
    ------
    InputError
        Where the file is no JSON, or holds no plan of this shape.
    """
    try:
        data = json.loads(content(path).decode())
    except (ValueError, RecursionError):  # no text, no JSON, or a number of 4,400 digits
        raise InputError(Problem("is no JSON; keep what --json printed", str(path))) from None
    sentence = f'is no plan of the shape "{SHAPE}"; keep what --json printed'
    try:
        plans = _plans(data)
        if not {plan["shape"] for plan in plans} <= READ:
            raise InputError(Problem(sentence, str(path)))
        jobs = {job["job"]: job["gaps"] for p in plans for job in p["jobs"] if job["complete"]}
        return {name: {gap["name"]: _kept(gap) for gap in gaps} for name, gaps in jobs.items()}
    except (KeyError, TypeError, AttributeError):
        raise InputError(Problem(sentence, str(path))) from None


def _plans(data: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the plans of every shelf; of one shelf, just that plan."""
    if data["shape"] in READ_OF_SEVERAL:
        return [one["plan"] for one in data["shelves"]]
    return [data]


def _kept(gap: dict[str, Any]) -> tuple[str, tuple[tuple[tuple[str, str], int], ...]]:
    counts: dict[tuple[str, str], int] = {}
    for part in gap["parts"]:
        if part["size"]:
            size = (str(part["family"]), str(part["size"]))
            counts[size] = counts.get(size, 0) + 1
    return gap["layout"] or "", tuple(sorted(counts.items()))
