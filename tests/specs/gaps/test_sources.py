"""What makes a gap doubtful: which sources, with which factors; what cancels and what is shared."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import reading_doubts, terms_of, tilts
from specs.models.lot import Lot
from specs.uncertainty.distribution import Doubt
from specs.uncertainty.propagation import Contribution, standard, variance_of
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


UNSAID = Length(25_400)
"""0.001 in: of a gauge, a part as sold and a spread between places of which nothing is said."""


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
    """For each name the sum of factors, and how many times; the spread over places left aside."""
    found: dict[str, tuple[Fraction | int, int]] = {}
    for term in terms:
        if term.source.name in ("gap", "depth") and term.doubt.shape == "normal":
            continue
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
    assert disc.doubt == Doubt("rectangular", UNSAID)


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


def reading(
    text: str, gauge: str = "feeler", *changes: tuple[str, str]
) -> dict[str, tuple[Length, int]]:
    """The doubts of a pack's clearance by shape: the size of each, and how many there are."""
    written = case(("gap: 0.90", f"gap: {text}"), *changes)
    return doubts_of(written, "low", "gap", gauge)


def doubts_of(
    written: Case, name: str, reading: str, gauge: str | None = None
) -> dict[str, tuple[Length, int]]:
    gap = JobGap(written, name)
    taken = gap.needed(reading)
    if gauge is not None:
        taken = taken.model_copy(update={"gauge": gauge})
    found = reading_doubts(gap, reading, taken)
    return {doubt.shape: (doubt.size, times) for doubt, times in found}


PACK = "      window: 0.8 to 1.2\n      readings: {gap"


def saying(key: str) -> tuple[str, str]:
    """A change to the unit file by which the low pack says something more."""
    return PACK, f"      {key}\n{PACK}"


def test_a_clearance_is_in_doubt_by_its_gauge_and_by_how_places_spread() -> None:
    assert reading("0.90") == {"rectangular": (mm("0.05"), 1), "normal": (UNSAID, 1)}
    assert reading("[0.90, 0.91]") == {
        "rectangular": (mm("0.025"), 2), "normal": (UNSAID / 2, 2)
    }  # fmt: skip
    assert reading("0.90", "eye")["rectangular"] == (UNSAID, 1)
    assert reading("0.90", "caliper")["rectangular"] == (UNSAID, 1)
    assert reading("0.90", "micrometer")["rectangular"] == (Length(5_080), 1)


def test_a_gauge_and_a_spread_of_one_size_are_two_doubts() -> None:
    found = reading("[0.90, 0.91]", "dial", saying("spreads by: 0.01"))
    assert found == {"normal": (mm("0.005"), 4)}


def test_places_that_differ_more_than_is_usual_count_by_their_own_spread() -> None:
    at = [mm("0.85"), mm("0.90"), mm("0.95")]
    spread = standard(Fraction(sum((one - mm("0.90")).nm ** 2 for one in at)) / 2)
    assert spread == mm("0.05")
    assert reading("[0.85, 0.90, 0.95]")["normal"] == (spread / 3, 3)
    near = reading("[0.89, 0.90, 0.91]")
    assert near["normal"] == (UNSAID / 3, 3)


def test_three_places_far_apart_are_in_doubt_by_their_spread_and_by_no_factor() -> None:
    """Three places that spread by 6 with a gauge of 3 in 3: u^2 = (36 + 3) / 3, as 13."""
    at = "[0.84, 0.90, 0.96]"
    found = reading(at, "feeler", ("feeler: 0.05", "feeler: 0.03"))
    assert found.keys() == {"rectangular", "normal"}
    (gauge, three), (places, times) = found["rectangular"], found["normal"]
    variance = three * gauge.nm**2 / 3 + times * places.nm**2
    assert variance == 13 * mm("0.01").nm ** 2


def test_a_spot_has_the_doubt_of_its_gauge_alone() -> None:
    assert doubts_of(case(), "high", "edge") == {"rectangular": (mm("0.04"), 1)}
    assert doubts_of(case(), "high", "depth")["normal"][1] == 2  # it was taken at two places
    assert doubts_of(case(), "front", "gasket") == {"normal": (mm("0.01"), 1)}
    asked = case(("edge: {what: edge, gauge: depth gauge}", "edge: {what: edge, places: 3}"))
    assert doubts_of(asked, "high", "edge") == {
        "rectangular": (UNSAID, 1), "normal": (UNSAID, 1)
    }  # fmt: skip


def test_an_end_play_read_at_one_place_does_not_spread() -> None:
    play = case(
        ("space: gasket + 3.2 mm, stack: [hub washer]", "stack: [hub washer]"),
        ("  gaps:\n    low", "  gaps:\n    front: {trial: [W], gap: 0.30}\n    low"),
    )
    assert doubts_of(play, "front", "gap") == {"rectangular": (UNSAID, 1)}


def test_the_unit_says_how_places_spread_for_a_gap_or_for_one_reading() -> None:
    one = (
        "gap: {what: feeler, gauge: feeler}",
        "gap: {what: feeler, gauge: feeler, spreads by: 0.06}",
    )
    said = [saying(f"spreads by: {by}") for by in ("0.04", "0")]
    assert reading("0.90", "feeler", said[0])["normal"] == (mm("0.04"), 1)
    assert reading("0.90", "feeler", said[0], one)["normal"] == (mm("0.06"), 1)
    assert reading("0.90", "feeler", said[1]) == {"rectangular": (mm("0.05"), 1)}
    assert reading("[0.90, 0.92]", "feeler", said[1])["normal"][1] == 2  # what is seen counts
    edge = ("edge: {what: edge, gauge: depth gauge}", "edge: {what: edge, spreads by: 0.03}")
    assert doubts_of(case(edge), "high", "edge")["normal"] == (mm("0.03"), 1)


def test_a_stated_uncertainty_stands_for_all_that_makes_a_reading_doubtful() -> None:
    assert reading("{at: [0.7, 1.1], u: 0.02}") == {"normal": (mm("0.02"), 1)}
    stated = case(("depth: [9.50, 9.52]", "depth: {at: [9.50, 9.52], u: 0.02}"))
    placed = {"steel": (THICK,), "ring": (B,)}
    terms = terms_of(JobGap(stated, "high"), "stack", placed)
    (depth,) = (term for term in terms if term.source.name == "depth")
    assert depth.doubt == Doubt("normal", mm("0.02"))
    assert told(terms)["depth gauge"] == (-1, 1)  # of the edge alone


def test_between_what_goes_and_what_stops_all_is_alike_and_places_spread_still() -> None:
    assert reading("{goes: 0.90, stops: 0.95}") == {
        "rectangular": (mm("0.025"), 1), "normal": (UNSAID, 1)
    }  # fmt: skip
    taken = case(("gap: 0.90", "gap: {goes: 0.90, stops: 0.95}")).job.gaps["low"].gap
    assert taken is not None
    assert taken.at == (mm("0.925"),)


def test_a_part_as_sold_is_off_by_a_thousandth_unless_its_file_says_otherwise() -> None:
    unsaid = case(
        ("fixed: 2.00, tolerance: 0.03}", "fixed: 2.00}"),
        ("steel: {kind: steel, tolerance: 0.02, sizes: {thick: 2.00, thin: 1.60}}",
         "steel: {kind: steel, sizes: {thick: 2.00, thin: 1.55 to 1.65}}"),
        ("ring: {kind: ring, sizes", "ring: {kind: ring, tolerance: 0, sizes"),
        ("washer: {kind: washer, tolerance: 0.05", "washer: {kind: washer, tolerance: 0"),
    )  # fmt: skip
    sold = unsaid.unit.families
    assert sold["disc"].sold_within("") == UNSAID
    assert sold["steel"].sold_within("thick") == UNSAID
    assert sold["steel"].sold_within("thin") == sold["ring"].sold_within("A") == mm("0.05")
    assert sold["washer"].sold_within("W") == Length(0)
    assert sold["disc"].stated_tolerance == Length(0)  # for grades and telling, as before
    placed = {"steel": (THIN,), "ring": (B,)}
    terms = terms_of(JobGap(unsaid, "high"), "stack", placed)
    doubts = {term.source.name: term.doubt for term in terms}
    assert doubts["disc"] == Doubt("rectangular", UNSAID)


def test_a_measured_part_is_as_good_as_the_gauge_the_files_name_for_parts() -> None:
    placed = {"steel": (THICK,), "ring": (B,)}

    def disc(*changes: tuple[str, str]) -> tuple[Doubt, dict[str, tuple[Fraction | int, int]]]:
        measured = ("readings: {gasket: 0.40}", "readings: {gasket: 0.40}\n  parts: {disc: 1.98}")
        terms = terms_of(JobGap(case(measured, *changes), "high"), "stack", placed)
        (one,) = (term.doubt for term in terms if term.source.name == "disc")
        return one, told(terms)

    assert disc()[0] == Doubt("rectangular", UNSAID)
    by = ("unit:\n", "unit:\n  parts read with: micrometer\n")
    assert disc(by)[0] == Doubt("rectangular", Length(5_080))
    job = ("job:\n", "job:\n  parts read with: depth gauge\n")
    doubt, found = disc(by, job)
    assert doubt == Doubt("rectangular", mm("0.04"))
    # two discs, a depth less an edge: what the gauge is off by in all enters by the discs alone
    assert found["depth gauge"] == (-2, 1)


def test_a_gauge_of_the_job_goes_before_the_unit_files() -> None:
    other = case(("  gaps:\n    low", "  gauges: {feeler: 0.10}\n  gaps:\n    low"))
    stays = {**steels(OWN_THICK, OWN_THICK), "ring": (OWN_A,)}
    terms = terms_of(JobGap(other, "low"), "stack", stays)
    assert variance_of(terms) == Fraction(100_000**2, 3) + 25_400**2


def test_places_that_lie_too_far_apart_look_tilted() -> None:
    four = case(("gap: 0.90", "gap: [0.85, 0.90, 0.98, 0.92]"))
    (tilt,) = tilts(JobGap(four, "low"), "stack")
    assert (tilt.reading, tilt.places, tilt.apart) == ("gap", (1, 3), mm("0.13"))
    three = case(("gap: 0.90", "gap: [0.98, 0.90, 0.85]"))
    assert [tilt.places for tilt in tilts(JobGap(three, "low"), "stack")] == [(1, 3)]
    for even in ("[0.850, 0.977]", "[0.85, 0.90, 0.97]", "0.90"):
        assert not [*tilts(JobGap(case(("gap: 0.90", f"gap: {even}")), "low"), "stack")], even


def test_how_far_places_may_lie_apart_is_as_the_unit_says() -> None:
    def tilted(at: str, *changes: tuple[str, str]) -> bool:
        return bool([*tilts(JobGap(case(("gap: 0.90", f"gap: {at}"), *changes), "low"), "stack")])

    pack = saying("even within: 0.05")
    one = ("gap: {what: feeler, gauge: feeler}", "gap: {what: feeler, even within: 0.2}")
    assert not tilted("[0.90, 1.00]")
    assert tilted("[0.90, 1.00]", pack)
    assert not tilted("[0.90, 0.95]", pack)
    assert not tilted("[0.90, 1.10]", pack, one)
    assert tilted("[0.90, 1.11]", one)
