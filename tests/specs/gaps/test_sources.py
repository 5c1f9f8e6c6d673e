"""What makes a gap doubtful: which sources, with which factors; what cancels and what is shared."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import reading_doubt, terms_of, tilts
from specs.models.lot import Lot
from specs.uncertainty.distribution import Doubt
from specs.uncertainty.propagation import Contribution, spread_of, variance_of
from specs.values.lengths import Length, parse_length

if TYPE_CHECKING:
    from specs.models.case import Case

UNIT = """\
length: mm
unit:
  gauges: {feeler: 0.05, depth gauge: {tells: 0.04, limits: 0.01}, dial: {u: 0.01}}
  readings: {gasket: {what: gasket, gauge: dial}}
  shared parts: {hub washer: {family: washer}}
  families:
    disc: {kind: friction, fixed: 2.00, tolerance: 0.03}
    steel: {kind: steel, tolerance: 0.02, sizes: {thick: 2.00, thin: 1.60}}
    ring: {kind: ring, sizes: {A: 1.45 to 1.55, B: 1.95 to 2.05}}
    washer: {kind: washer, tolerance: 0.05, sizes: {W: 3.00, X: 3.20}}
  packs:
    low:
      window: 0.8 to 1.2
      readings: {gap: {what: feeler, gauge: feeler}}
      stack: [disc, {repeat: 2, of: [steel, disc]}, ring]
    high:
      window: 0.8 to 1.2
      space: depth - edge
      readings: {depth: {what: depth, gauge: depth gauge}, edge: {what: edge, gauge: depth gauge}}
      stack: [disc, steel, disc, ring]
  end plays:
    front: {window: 0.1 to 0.5, space: gasket + 3.2 mm, stack: [hub washer]}
    rear: {window: 0.1 to 0.5, space: gasket/2 + 0.3 mm, stack: [{part: hub washer, factor: -1}]}
shelf: {}
job:
  readings: {gasket: 0.40}
  gaps:
    low: {trial: [thick, thick, A], gap: 0.90}
    high: {readings: {depth: [9.50, 9.52], edge: 1.00}}
"""


def case(*changes: tuple[str, str]) -> Case:
    text = UNIT
    for before, after in changes:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    return case_of(yaml_door.parse(text, "bench"))


def mm(text: str) -> Length:
    return parse_length(f"{text} mm")


def lot(
    family: str, size: str, thickness: str, *, own: bool = False, measured: bool = False
) -> Lot:
    return Lot(family, size, mm(thickness), 9, own=own, measured=measured)


def steels(*lots: Lot) -> dict[str, tuple[Lot, ...]]:
    return {f"steel {nth}": (lot,) for nth, lot in enumerate(lots, 1)}


OWN_THICK, THICK, THIN = (
    lot("steel", "thick", "2.00", own=True), lot("steel", "thick", "2.00"),
    lot("steel", "thin", "1.60"),
)  # fmt: skip
OWN_A, B = lot("ring", "A", "1.50", own=True), lot("ring", "B", "2.00")


def low(
    *lots: Lot, ring: Lot = OWN_A, at: Case | None = None
) -> dict[str, tuple[Fraction | int, int]]:
    terms = terms_of(JobGap(at or case(), "low"), "stack", {**steels(*lots), "ring": (ring,)})
    return told(terms)


def told(terms: tuple[Contribution, ...]) -> dict[str, tuple[Fraction | int, int]]:
    """For each name the sum of factors, and how many times."""
    found: dict[str, tuple[Fraction | int, int]] = {}
    for term in terms:
        factor, times = found.get(term.source.name, (0, 0))
        found[term.source.name] = factor + term.factor * term.times, times + term.times
    return found


def test_a_trial_build_that_stays_in_leaves_the_doubt_of_its_gap_alone() -> None:
    assert low(OWN_THICK, OWN_THICK) == {"gap": (1, 1)}


def test_a_part_that_comes_and_the_one_that_goes_are_both_in_doubt() -> None:
    assert low(OWN_THICK, THIN) == {
        "gap": (1, 1), "steel thick": (1, 1), "steel thin": (-1, 1)
    }  # fmt: skip
    assert low(OWN_THICK, OWN_THICK, ring=B) == {"gap": (1, 1), "ring A": (1, 1), "ring B": (-1, 1)}


def test_the_same_size_from_the_shelf_is_another_part() -> None:
    assert low(OWN_THICK, THICK)["steel thick"] == (0, 2)


def test_parts_that_may_be_others_than_those_of_the_trial_build_do_not_cancel() -> None:
    other = case(("trial: [thick, thick, A]", "trial: [thick, thin, A], now: [thick, thick, A]"))
    assert low(OWN_THICK, OWN_THICK, at=other) == {
        "gap": (1, 1), "steel thin": (1, 1), "steel thick": (-1, 1)
    }  # fmt: skip
    one = low(OWN_THICK, THIN, at=other)
    assert one["steel thick"] == (0, 2)


def test_fixed_parts_count_where_no_trial_build_held_them() -> None:
    placed = {"steel": (THICK,), "ring": (B,)}
    assert told(terms_of(JobGap(case(), "high"), "stack", placed)) == {
        "depth": (2, 2), "edge": (-1, 1), "disc": (-2, 2), "steel thick": (-1, 1), "ring B": (-1, 1)
    }  # fmt: skip


def test_fixed_parts_measured_for_the_job_are_one_measurement() -> None:
    measured = case(("readings: {gasket: 0.40}", "readings: {gasket: 0.40}\n  parts: {disc: 1.98}"))
    terms = terms_of(JobGap(measured, "high"), "stack", {"steel": (THICK,), "ring": (B,)})
    assert told(terms)["disc"] == (-2, 1)
    (disc,) = (term for term in terms if term.source.name == "disc")
    assert disc.doubt == Doubt("rectangular", mm("0.005"))


def test_limits_of_a_gauge_cancel_in_a_difference_and_add_in_a_sum() -> None:
    placed = {"steel": (THICK,), "ring": (B,)}
    assert "depth gauge" not in told(terms_of(JobGap(case(), "high"), "stack", placed))
    summed = case(("space: depth - edge", "space: depth + edge - 2 mm"))
    assert told(terms_of(JobGap(summed, "high"), "stack", placed))["depth gauge"] == (2, 1)


def test_parts_as_sold_lie_anywhere_in_their_printed_range_and_tolerance() -> None:
    terms = terms_of(JobGap(case(), "high"), "stack", {"steel": (THIN,), "ring": (B,)})
    doubts = {term.source.name: term.doubt for term in terms}
    assert doubts["steel thin"] == Doubt("rectangular", mm("0.02"))
    assert doubts["ring B"] == Doubt("rectangular", mm("0.05"))


def test_parts_of_one_measured_lot_share_what_was_measured() -> None:
    lots = Lot("steel", "thick", mm("1.99"), 4, measured=True, gauge="dial", within=mm("0.01"))
    terms = terms_of(JobGap(case(), "low"), "stack", {**steels(lots, lots), "ring": (OWN_A,)})
    once, each = (term for term in terms if term.factor < 0)
    assert once == Contribution(once.source, Doubt("normal", mm("0.01")), Fraction(-2))
    assert each == Contribution(each.source, Doubt("rectangular", mm("0.01")), Fraction(-1), 2)


def test_a_measured_lot_carries_the_limits_of_its_gauge() -> None:
    lots = Lot("steel", "thick", mm("1.99"), 4, measured=True, gauge="depth gauge")
    terms = terms_of(JobGap(case(), "high"), "stack", {"steel": (lots,), "ring": (B,)})
    assert told(terms)["depth gauge"] == (-1, 1)


def test_a_reading_and_a_washer_that_gaps_share_are_one_source() -> None:
    placed = {"hub washer": (lot("washer", "W", "3.00"),)}
    front, rear = (terms_of(JobGap(case(), gap), "stack", placed) for gap in ("front", "rear"))
    assert {t.source for t in front} == {t.source for t in rear}
    assert told(front) == {"gasket": (1, 1), "hub washer": (-1, 1)}
    assert told(rear) == {"gasket": (Fraction(1, 2), 1), "hub washer": (1, 1)}


def test_a_shared_washer_of_the_trial_build_that_stays_leaves_no_doubt_behind() -> None:
    tried = case(
        ("space: gasket + 3.2 mm, stack: [hub washer]", "stack: [hub washer]"),
        ("  gaps:\n    low", "  gaps:\n    front: {trial: [W], gap: 0.30}\n    low"),
    )
    stays, comes = lot("washer", "W", "3.00", own=True), lot("washer", "X", "3.20")
    in_front = [
        terms_of(JobGap(tried, "front"), "stack", {"hub washer": (w,)}) for w in (stays, comes)
    ]
    assert told(in_front[0]) == {"gap": (1, 1)}
    assert told(in_front[1]) == {"gap": (1, 1), "hub washer": (0, 2)}
    behind = terms_of(JobGap(tried, "rear"), "stack", {"hub washer": (stays,)})
    assert told(behind)["hub washer"] == (1, 1)


def test_a_window_on_a_height_doubts_the_parts_the_other_way() -> None:
    window = "      window: 0.8 to 1.2\n      readings: {gap"
    height = (
        "      window: {gap: 9.8 to 10.2, on: height}\n"
        "      space: trial stack - gap\n      readings: {gap"
    )
    tall = case((window, height))
    trial = JobGap(tall, "low").trial
    assert trial is not None
    assert JobGap(tall, "low").build(trial).layout == "stack"
    found = low(OWN_THICK, THIN, at=tall)
    assert found["gap"] == (-1, 1)
    assert found["steel thin"] == (1, 1)


def reading(text: str, gauge: str = "feeler") -> tuple[Doubt, int]:
    written = case(("gap: 0.90", f"gap: {text}"))
    taken = written.job.gaps["low"].gap
    assert taken is not None
    return reading_doubt(written, taken, gauge)


def test_a_reading_is_as_good_as_its_gauge_at_each_place() -> None:
    assert reading("0.90") == (Doubt("rectangular", mm("0.05")), 1)
    assert reading("[0.90, 0.95]") == (Doubt("rectangular", mm("0.025")), 2)
    assert reading("0.90", "dial") == (Doubt("normal", mm("0.01")), 1)
    assert reading("0.90", "eye") == (Doubt("rectangular", mm("0.02")), 1)


def test_places_that_differ_by_more_than_the_gauge_explains_count_by_their_spread() -> None:
    apart = [mm("0.85"), mm("0.90"), mm("0.96")]
    assert reading("[0.85, 0.90, 0.95]")[1] == 3
    assert reading("[0.85, 0.90, 0.96]") == (Doubt("normal", spread_of(apart)), 1)


def test_a_stated_uncertainty_goes_before_all_others() -> None:
    assert reading("{at: [0.7, 1.1], u: 0.02}") == (Doubt("normal", mm("0.02")), 1)


def test_between_what_goes_and_what_stops_all_is_alike() -> None:
    assert reading("{goes: 0.90, stops: 0.95}") == (Doubt("rectangular", mm("0.025")), 1)
    taken = case(("gap: 0.90", "gap: {goes: 0.90, stops: 0.95}")).job.gaps["low"].gap
    assert taken is not None
    assert taken.at == (mm("0.925"),)


def test_a_gauge_of_the_job_goes_before_the_unit_files() -> None:
    other = case(("  gaps:\n    low", "  gauges: {feeler: 0.10}\n  gaps:\n    low"))
    stays = {**steels(OWN_THICK, OWN_THICK), "ring": (OWN_A,)}
    assert variance_of(terms_of(JobGap(other, "low"), "stack", stays)) == Fraction(100_000**2, 3)


def test_opposite_places_that_differ_too_much_look_tilted() -> None:
    four = case(("gap: 0.90", "gap: [0.85, 0.90, 0.97, 0.92]"))
    (tilt,) = tilts(JobGap(four, "low"), "stack")
    assert (tilt.reading, tilt.places, tilt.apart) == ("gap", (1, 3), mm("0.12"))
    three = case(("gap: 0.90", "gap: [0.97, 0.90, 0.85]"))
    assert [tilt.places for tilt in tilts(JobGap(three, "low"), "stack")] == [(1, 3)]
    for even in (
        "[0.85, 0.95, 0.85, 0.95]",
        "[0.85, 0.90, 0.95]",
        "0.90",
        "[0.80, 0.95, 0.82, 0.96]",
    ):
        assert not [*tilts(JobGap(case(("gap: 0.90", f"gap: {even}")), "low"), "stack")], even
