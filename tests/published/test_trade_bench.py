"""What the bench knows of look-alike parts. All of it: common practice, no source."""

from __future__ import annotations

from gapwright.tell.telling import Measured, Teller
from specs.files import case_of
from specs.lengths import parse_length
from specs.yaml_door import parse

DRUMS = """\
length: in
unit:
  gauges: {caliper: .001}
  families:  # frictions of one drum and of its neighbour: common practice, no source
    front friction: {kind: friction, sizes: {front: .065 to .068}}
    rear friction: {kind: friction, sizes: {rear: .084 to .085}}
  packs:
    front: {window: .020 to .035, stack: [front friction]}
    rear: {window: .020 to .035, stack: [rear friction]}
"""


def test_frictions_of_neighbouring_drums_are_told_apart_by_caliper() -> None:
    """A reading a good friction can give is never taken for the other's, nor left between."""
    teller = Teller(case_of(parse(DRUMS, "unit.yaml"), needs=("unit",)))
    for tenths in range(620, 881):
        told = teller.tell(Measured((parse_length(f"{tenths / 10000:.4f} in"),), "caliper"))
        if 641 <= tenths <= 689:
            assert (told.verdict, told.candidate.family) == ("told", "front friction")
        elif 831 <= tenths <= 859:
            assert (told.verdict, told.candidate.family) == ("told", "rear friction")
        else:
            assert told.verdict == "out of limits"
        assert told.wrong < 1e-6 or not told.shares
