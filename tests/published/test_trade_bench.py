"""What the bench knows of look-alike and worn parts, and of a check by a pin."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gapwright.check.service import check_case
from gapwright.tell.service import Measured, Teller
from specs.errors import InputError
from specs.files.read import case_of, read_unit_alone
from specs.formats.yaml import parse
from specs.values.lengths import parse_length
from tests.published.printed import PUBLISHED

if TYPE_CHECKING:
    from gapwright.check.answer import Check

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


def test_a_published_drive_plate_is_worn_under_its_limit() -> None:
    """Nissan/Infiniti I30 2001 (RE4F04), low & reverse brake: 1.8 mm new, wear limit 1.6 mm."""
    case = read_unit_alone(PUBLISHED / "worn_drive_plates.yaml")
    teller = Teller(case)
    for hundredths in range(150, 186):
        read = parse_length(f"{hundredths / 100:.2f} mm")
        told = teller.tell(Measured((read,), "micrometer", used=True))
        thinner = hundredths < 160
        assert (told.standing == "worn") == thinner
        if 161 <= hundredths <= 180:
            assert (told.standing, told.candidate.family) == ("good", "drive plate")
        assert told.to_shelf == (hundredths == 160 or 161 <= hundredths <= 180)


PISTONS = """\
length: in
unit:
  families:
    friction: {kind: friction, fixed: .0800}
    ring: {kind: ring, sizes: [.0700, .0780]}
  belongs together:
    piston and spring:
      sets:
        tall: {piston height: .840 ± .002, piston spring: coil}
        short: {piston height: .780 ± .002, piston spring: flat}
      would: the piston bottoms before the pack is pressed
  packs:
    drum: {window: .020 to .040, stack: [friction, ring]}
shelf: {ring: {.0700: 1, .0780: 1}}
job:
  found: {piston height: HEIGHT, piston spring: SPRING}
  gaps: {drum: {trial: [.0700], gap: .030}}
"""


@pytest.mark.parametrize("thousandths", [777, 778, 780, 782, 783, 837, 838, 840, 842, 843])
def test_a_piston_of_one_height_is_never_built_with_the_spring_of_the_other(
    thousandths: int,
) -> None:
    """Pistons of 0.840 in with coils and of 0.780 in with flat springs: common practice, no source.

    How far a piston of either may be off, 0.002 in, is ours.
    """
    of_height = {"coil": range(838, 843), "flat": range(778, 783)}
    for spring, heights in of_height.items():
        text = PISTONS.replace("HEIGHT", f".{thousandths}").replace("SPRING", spring)
        if thousandths in heights:
            assert case_of(parse(text, "job.yaml"))
        else:
            with pytest.raises(InputError, match=r"piston bottoms|piston height is \.840"):
                case_of(parse(text, "job.yaml"))


PIN = """\
length: in
unit:
  families:
    friction: {kind: friction, fixed: .0800}
    steel: {kind: steel, sizes: {thick: .0880, thin: .0690}}
    ring: {kind: ring, sizes: [.0620, .0700]}
  packs:
    drum: {window: {gap: .095 to .105, aim: .100}, stack: [friction, steel, friction, ring]}
shelf: {steel: {thick: 1, thin: 1}, ring: {.0620: 1, .0700: 1}}
job:
  gaps:
    drum:
      trial: [thick, .0700]
      gap: .081
      as built: {PIN, parts: [thin, .0700]}
"""


def check(pin: str) -> Check:
    return check_case(case_of(parse(PIN.replace("PIN", pin), "job.yaml")))


def test_a_pin_is_the_final_check_of_a_pack_specified_at_its_size() -> None:
    """A 0.100 in pin for a pack specified at 0.100 in: common practice, no source."""
    assert check("goes: .100, stops: .101").inside
    assert check("goes: .100, stops: .102").agrees
    too_tight = check("goes: .093, stops: .094")
    assert not too_tight.inside
    with pytest.raises(InputError, match="known to be no less than what goes"):
        check("goes: .100")
