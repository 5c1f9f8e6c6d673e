"""What there is to fill, worked out from the text of the unit file and the readings as taken.

    space = sum of readings, lengths and the trial stack, each with its sign and factor

Serves the sums that random jobs are written with: plain terms and `name/number`.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from specs.values.lengths import parse_length
from tests.oracles.brute_kinds import listed, trial_of

if TYPE_CHECKING:
    from specs.models.case import Case


def own_space(case: Case, gap: str, layout: str) -> Fraction:
    """The space of a layout in nanometres."""
    spec = case.unit.gaps[gap]
    text = spec.arrangements[layout].space.text
    total = Fraction(0)
    for sign, term in re.findall(r"(?:^| )([+-]?) ?((?:(?! [+-] ).)+)", text):
        name, _, under = term.strip().partition("/")
        value = _term(case, gap, name) / int(under or 1)
        total += -value if sign == "-" else value
    return total


def _term(case: Case, gap: str, name: str) -> Fraction:
    if name == "trial stack":
        return _trial(case, gap)
    if re.match("[0-9]", name):
        return parse_length(name).nm
    work = case.job.gaps.get(gap)
    taken = work.readings.get(name) if work else None
    at = (taken or case.job.readings[name]).at
    return sum((length.nm for length in at), Fraction(0)) / len(at)


def _trial(case: Case, gap: str) -> Fraction:
    build = listed(case, gap, trial_of(case, gap))
    assert build is not None
    layout = case.unit.gaps[gap].arrangements[build.layout]
    total = Fraction(0)
    for label, place in zip(layout.labels, layout.stack, strict=True):
        fixed = case.job.parts.get(place.part) or case.unit.family_of(place.part).fixed
        parts = [part.thickness for part in build.parts.get(label, ())]
        total += place.factor * sum(
            (length.nm for length in ([fixed] if fixed else parts)), Fraction(0)
        )
    return total
