"""Parts of listed builds and of promises, counted by size."""

from __future__ import annotations

from collections import Counter
from itertools import chain
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap, in_the_drum

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from specs.models.case import Case
    from specs.models.job import Parts
    from specs.models.record import Promised

Size = tuple[str, str]
"""A family and one of its sizes, as the unit calls it."""


def counted(case: Case, builds: Mapping[str, Parts]) -> Counter[Size]:
    """Count the parts of builds listed by gap; a part that gaps share counts once."""
    found: Counter[Size] = Counter()
    shared: dict[str, Size] = {}
    for name, build in builds.items():
        gap = JobGap(case, name)
        listed = gap.build(build)
        joint = {label: (part.family, part.size) for label, part in gap.shared_in(listed).items()}
        found.update((part.family, part.size) for part in chain(*listed.parts.values()))
        found.subtract(joint.values())
        shared |= joint
    found.update(shared.values())
    return +found


def in_unit(case: Case, gaps: Iterable[str]) -> Counter[Size]:
    """Count the unit's own parts that lie in some gaps, by the builds the job lists."""
    found: Counter[Size] = Counter()
    for part, number in in_the_drum(case, gaps).own.items():
        found[part.family, part.size] += number
    return found


def fetched(promised: Promised | None) -> Counter[Size]:
    """Count what a promise takes from the shelf."""
    found: Counter[Size] = Counter()
    for taken in promised.takes if promised else ():
        found[taken.family, taken.size] += taken.count
    return found
