"""Selective tables of makers' manuals, covered from end to end: served where the table has a part.

A manual's table is worth its print if no reading within it is left without a part. What is to be
served is worked out from the printed rule in plain fractions (printed.py), reading by reading.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gapwright.cover.service import Covered, CoverOptions, cover_case
from specs.files.read import case_of
from specs.formats.yaml import Source
from specs.gaps.varied_reading import ROOM
from specs.values.lengths import parse_length
from tests.published.compared import written
from tests.published.printed import Check, checks

if TYPE_CHECKING:
    from specs.values.lengths import LengthUnit

SWEEP = re.compile(r"(\S+) to (\S+) by (\S+)")


def swept(check: Check) -> str:
    """The one reading that goes through a range while the others stand; empty if there are more."""
    open_ = [
        n
        for n, told in check.told["readings"].items()
        if not isinstance(told, str) or SWEEP.fullmatch(told)
    ]
    alone = len(open_) == 1 and isinstance(check.told["readings"][open_[0]], str)
    return open_[0] if alone and not check.told.get("places") else ""


SWEEPS = [check for check in checks("manuals") if len(check.rules) == 1 and swept(check)]


def covered(check: Check) -> Covered:
    reading = swept(check)
    found = SWEEP.fullmatch(check.told["readings"][reading])
    assert found
    unit: LengthUnit = "mm" if check.length == "mm" else "in"
    first, last, step = (parse_length(text, unit) for text in found.groups())
    case = case_of(Source(check.entry, written(check, check.readings()[0]), {}))
    asked = CoverOptions(check.rules[0].gap, reading, first=first, last=last, step=step)
    (one,) = cover_case(case, asked)
    return one


@pytest.mark.parametrize("check", SWEEPS, ids=lambda check: f"{check.entry}: {check.title}")
def test_a_table_serves_what_it_prints_a_part_for_and_nothing_else(check: Check) -> None:
    (rule,) = check.rules
    ours = [one.status == "fit" for one in covered(check).served]
    printed = []
    for given in check.readings():
        low, high = rule.needed(given)
        totals = rule.builds(given).values()
        printed.append(
            any((low is None or low <= t) and (high is None or t <= high) for t in totals)
        )
    assert ours == printed
    assert ours[1:] != printed[:-1]  # a table off by one step would be noticed


def test_most_manuals_are_swept() -> None:
    assert len({check.entry for check in SWEEPS}) >= 20


def test_some_tables_have_holes_and_some_have_none() -> None:
    holes = [bool(covered(check).holes) for check in SWEEPS]
    assert {True, False} == set(holes)


def test_a_table_without_a_hole_steps_no_wider_than_its_window() -> None:
    """The rule of thumb, on tables of one family of which one part goes in."""
    seen = set()
    for check in SWEEPS:
        one = covered(check)
        if check.rules[0].counts == (1, 1) and len(one.steps) == 1 and one.moving.reading != ROOM:
            (steps,) = one.steps
            seen.add(steps.holds)
            if steps.holds:
                assert not one.holes, check.title
    assert True in seen
