"""A reading moved to another value is still the same reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import reading_doubts
from specs.gaps.varied_reading import move_reading
from specs.values.lengths import parse_length

if TYPE_CHECKING:
    from specs.models.case import Case

UNIT = """\
length: mm
unit:
  gauges: {depth gauge: {tells: 0.01}}
  readings: {gasket: {what: thickness of the gasket, gauge: depth gauge}}
  families: {ring: {kind: ring, sizes: [1.5, 1.7]}}
  packs:
    low:
      window: 0.2 to 0.5
      space: depth + gasket
      allowances: [{state: {frictions: dry}, add: -0.1}]
      readings: {depth: {what: to the ring, gauge: depth gauge, places: 3}}
      stack: [ring]
shelf: {ring: {1.5: 1, 1.7: 1}}
"""


@pytest.mark.parametrize("name", ["depth", "gasket"])
@pytest.mark.parametrize(
    ("taken", "moved"),
    [
        ("{at: 1.40, u: 0.03}", "{at: 1.47, u: 0.03}"),
        ("{goes: 1.35, stops: 1.45}", "{goes: 1.42, stops: 1.52}"),
        ("[1.39, 1.40, 1.41]", "[1.46, 1.47, 1.48]"),
        ("[1.30, 1.40, 1.50]", "[1.37, 1.47, 1.57]"),
        ("{at: 1.40, gauge: feeler}", "{at: 1.47, gauge: feeler}"),
        ("{at: 1.40, state: {frictions: dry}}", "{at: 1.47, state: {frictions: dry}}"),
    ],
)
def test_a_moved_reading_is_as_if_it_had_been_written_so(name: str, taken: str, moved: str) -> None:
    at = move_reading(case_with(name, taken), name).at(parse_length("1.47", "mm"))
    ours, theirs = JobGap(at, "low"), JobGap(case_with(name, moved), "low")
    assert vars(ours.needed(name)) == vars(theirs.needed(name))
    assert ours.space("stack") == theirs.space("stack")
    assert [*ours.fewer_places()] == [*theirs.fewer_places()]
    doubts = [reading_doubts(gap, name, gap.needed(name)) for gap in (ours, theirs)]
    assert doubts[0] == doubts[1]


def case_with(name: str, taken: str) -> Case:
    written = {"depth": "[1.4, 1.4, 1.4]", "gasket": "0.5", name: taken}
    job = (
        "job: {{readings: {{gasket: {gasket}}}, gaps: {{low: {{readings: {{depth: {depth}}}}}}}}}\n"
    )
    return case_of(parse(UNIT + job.format(**written), "job.yaml"))
