"""Parts that a ledger issued to a job: they have left the shelf, and are at hand for the job."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from gapwright.record.sizes import counted, fetched, in_unit
from specs.gaps.built import promised_builds
from specs.gaps.job_gap import JobGap
from specs.parts.lookup import PartError, find_size

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gapwright.record.sizes import Size
    from inventory.movements import Part
    from specs.models.case import Case
    from specs.models.job import Parts
    from specs.models.record import Promised


def beside_listed(
    case: Case, gaps: Iterable[str], issued: Counter[Part], promised: Promised | None
) -> Counter[Part]:
    """Return the issued parts that the job does not list among those that are in the unit.

    Once they are in, somebody may list them under `now`, and then they are one part and not two.
    Of the parts listed there, as many are of the unit itself as the promise left in it.

    Parameters
    ----------
    case
        The job's files as read.
    gaps
        The gaps whose builds are looked at.
    issued
        The parts issued to the job, by lot.
    promised
        What is promised for it; None where nothing is, and then each part listed may be an issued.
    """
    gaps = [*gaps]
    listed = in_unit(case, gaps)
    if promised is not None:
        built = _built(case, gaps, promised)
        listed = (listed & built) - (built - fetched(promised))
    left: Counter[Part] = Counter()
    for part, number in issued.items():
        size = part.family, _size(case, part)
        some = min(number, listed[size])
        listed[size] -= some
        left[part] = number - some
    return +left


def _built(case: Case, gaps: Iterable[str], promised: Promised) -> Counter[Size]:
    """Count the parts of a promised build by size, without gaps that have another stack since."""
    builds = promised_builds(promised)
    return counted(case, {
        name: builds[name]
        for name in gaps
        if name in builds and _is_listed(case, name, builds[name])
    })  # fmt: skip


def _is_listed(case: Case, gap: str, build: Parts) -> bool:
    try:
        JobGap(case, gap).build(build)
    except PartError:
        return False
    return True


def _size(case: Case, part: Part) -> str:
    """Return a part's size as the unit calls it."""
    try:
        return find_size(part.family, case.unit.families[part.family], part.size, None).size
    except (KeyError, PartError):
        return part.size
