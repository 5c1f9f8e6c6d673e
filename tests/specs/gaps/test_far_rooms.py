"""Readings far from former units: the three rules as they read, and how often they err."""

from __future__ import annotations

import statistics
from collections import Counter
from fractions import Fraction
from math import sqrt
from random import Random
from statistics import NormalDist
from typing import TYPE_CHECKING

import pytest

from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.far_rooms import FAR, FEWEST, RoomBound, bounds_of, far_room
from specs.gaps.job_gap import JobGap
from specs.values.lengths import Length, parse_length
from tests.amounts import few, times

if TYPE_CHECKING:
    from specs.gaps.far_rooms import FarRoom

THOU = 25_400
UNIT = """
length: in
unit:
  gauges: {feeler: .001}
  families:
    disc: {kind: friction, fixed: .0800}
    worn disc: {kind: friction, fixed: .0700}
    steel: {kind: steel, sizes: {thick: .0900, thin: .0700}}
    ring: {kind: ring, sizes: {A: .0600, B: .0700}}
  packs:
    low:
      window: .010 to .030
      readings: {gap: {what: feeler, gauge: feeler, places: PLACES}}
      stack: [disc, steel, disc, steel, disc, {part: ring, groove: .055 to .090}]
      SPACES
shelf: {steel: {thick: 4, thin: 4}, ring: {A: 2, B: 2}}
job: {gaps: {low: {trial: [thick, thick, A], gap: AT}}}
"""
TRIED = 3 * 80 + 2 * 90 + 60
"""What stands in the drum beside the gap, in thou."""


def gap(at: str, places: int = 1, spaces: str = "") -> JobGap:
    told = f"spaces: {spaces}" if spaces else ""
    text = UNIT.replace("AT", at).replace("PLACES", str(places)).replace("SPACES", told)
    return JobGap(case_of(parse(text, "job.yaml")), "low")


def rooms(*thou: float) -> Counter[Length]:
    """Former rooms, each so many thou."""
    return Counter(Length(Fraction(str(one)) * THOU) for one in thou)


def far(at: str, former: Counter[Length] | None = None, spaces: str = "") -> FarRoom | None:
    return far_room(gap(at, spaces=spaces), "stack", former or Counter())


ALIKE = [*range(490, 500)] * 2
"""Twenty former rooms of .490 to .499 in; the gap of a room is .480 less."""


def test_a_room_outside_of_twenty_former_units_is_far_and_of_nineteen_is_not() -> None:
    assert far(".016", rooms(*ALIKE)) is None
    assert far(".0245", rooms(*ALIKE[1:])) is None
    found = far(".0245", rooms(*ALIKE))
    assert found is not None
    assert found.roomier
    (each,) = found.crossed
    assert (each.kind, each.drums) == ("each former unit", 20)
    assert each.off(found.room) == parse_length(".0055 in")
    found = far(".005", rooms(*ALIKE))
    assert found is not None
    assert not found.roomier
    assert found.crossed[0].off(found.room) == parse_length("-.005 in")


def test_no_more_than_the_reading_leaves_in_doubt_is_not_outside() -> None:
    u = sqrt(1 + 1 / 3) / 1_000  # of one place: its spread, and a feeler that tells .001 in
    assert far(f"{0.019 + u - 1e-5:.5f}", rooms(*ALIKE)) is None
    assert far(f"{0.019 + u + 1e-5:.5f}", rooms(*ALIKE)) is not None
    stated = "{at: .0245, u: .006}"
    assert far(stated, rooms(*ALIKE)) is None
    same = rooms(*[495] * 60)  # all read alike, as a coarse gauge does
    assert far(".016", same) is None
    assert far(".0195", same) is not None


def test_a_room_as_far_off_as_one_before_is_far_by_its_deviations() -> None:
    former = rooms(*[495] * 59, 540)
    found = far(".050", former)
    assert found is not None
    (spread,) = found.crossed
    assert spread.kind == "deviations"
    assert spread.middle == Length(Fraction(59 * 495 + 540, 60) * THOU)


SPACES = [
    ("{normal: .500, deviation: .003}", ".032", ".0321", ".0079"),
    ("{uniform: .490 to .510}", ".0311", ".0313", ".0087"),
    ("{sum: [.290 to .300, .200 to .210], less: [.000 to .010]}", ".0311", ".0313", ".0001"),
]


@pytest.mark.parametrize(("spaces", "near", "over", "under"), SPACES)
def test_what_the_unit_file_expects_bounds_a_room(
    spaces: str, near: str, over: str, under: str
) -> None:
    assert far(near, spaces=spaces) is None
    for at, roomier in ((over, True), (under, False)):
        found = far(at, spaces=spaces)
        if spaces.startswith("{sum") and not roomier:
            assert found is None  # down to .480 less u, which a gap of nothing has
            continue
        assert found is not None
        assert (found.roomier, [bound.kind for bound in found.crossed]) == (roomier, ["spaces"])


def test_only_mistakes_without_which_nothing_is_far_are_named_the_likeliest_first() -> None:
    found = far(".039", rooms(*ALIKE), "{normal: .495, deviation: .003}")
    assert found is not None
    assert [mistake.words for mistake in found.mistakes] == [
        "steel thin in the trial build, not thick",
        "each lining 0.0067 in thinner than its file says",
    ]
    assert found.looks == ("measure the steel of the trial build", "measure one lining")
    tighter = far(".0005", rooms(*[490, 499] * 10))
    assert tighter is not None
    assert [mistake.words for mistake in tighter.mistakes] == [
        "ring B in the trial build, not A",
        "each lining 0.0032 in thicker than its file says",
    ]
    wide = far(".110", rooms(*ALIKE))
    assert wide is not None
    assert "one steel thick fewer in the trial build than listed" in [
        mistake.words for mistake in wide.mistakes
    ]
    assert wide.looks[0] == "count the plates of the trial build"
    seated = far(".0005", rooms(*[505, 512] * 10))
    assert seated is not None
    assert "see which face of its groove the ring is on" in seated.looks


def test_a_lining_is_no_explanation_where_it_was_measured_or_would_be_off_by_too_much() -> None:
    measured = UNIT.replace("AT", ".041").replace("PLACES", "1").replace("SPACES", "")
    measured = measured.replace("job: {", "job: {parts: {disc: .0799}, ")
    found = far_room(JobGap(case_of(parse(measured, "j")), "low"), "stack", rooms(*ALIKE))
    assert found is not None
    assert "measure one lining" not in found.looks
    beyond = far(".055", rooms(*ALIKE))
    assert beyond is not None
    assert "measure one lining" not in beyond.looks


def stated(at: float, places: int, former: list[float], spaces: tuple[str, float, float]) -> bool:
    """Whether a room is far, by the three rules as a person would write them; all in thou."""
    u = sqrt((1 + 1 / 3) / places)
    room = TRIED + at
    if len(former) >= FEWEST:
        if room < min(former) - u or room > max(former) + u:
            return True
        if abs(room - statistics.mean(former)) > 4 * max(statistics.stdev(former), u):
            return True
    kind, one, other = spaces
    if kind == "normal":
        return abs(room - one) > 4 * max(other, u)
    return kind == "uniform" and (room < one - u or room > other + u)


@pytest.mark.parametrize("seed", few(range(600), 100))
def test_a_room_is_far_where_the_rules_say_so(seed: int) -> None:
    draw = Random(seed)  # noqa: S311 - for a test
    number = draw.choice([0, 1, 19, 20, 21, 40])
    wide = draw.choice([0, 1, 3])
    former = [float(round(draw.gauss(500, wide))) for _ in range(number)]
    if former and draw.random() < 0.2:
        former[0] = 500 + draw.choice([-1, 1]) * 8 * (wide + 1)
    kind = draw.choice(["none", "normal", "uniform"])
    ends = {"none": (0, 0), "normal": (500, draw.choice([0, 1, 3])), "uniform": (495, 505)}[kind]
    at = max(1.0, round(20 + draw.choice([1, 3, 6]) * draw.gauss(0, 2.3), 1))
    places = draw.choice([1, 3])
    told = {
        "none": "",
        "normal": f"{{normal: {ends[0]} thou, deviation: {ends[1]} thou}}",
        "uniform": f"{{uniform: {ends[0]} to {ends[1]} thou}}",
    }[kind]
    read = f"{at} thou" if places == 1 else f"[{', '.join([f'{at} thou'] * places)}]"
    found = far_room(gap(read, places, told), "stack", rooms(*former))
    wanted = stated(at, places, former, (kind, *ends))
    assert (found is not None) == wanted, (at, places, former, kind, ends)
    if found is not None:
        room = Fraction(str(at)) + TRIED
        assert found.room == Length(room * THOU)
        for mistake in found.mistakes:
            away = float((found.room + mistake.shift).nm) / THOU - TRIED
            assert not stated(away, places, former, (kind, *ends)), mistake.words


def test_of_drums_alike_one_in_15_787_lies_beyond_four_deviations() -> None:
    """Drums of the unit's own normal spaces: the rate stated, and no more are drawn."""
    rate = 2 * NormalDist().cdf(-FAR)
    assert round(1 / rate) == 15_787
    drums = times(2_000_000, 100_000)
    bound = next(bounds_of(gap(".020", spaces="{normal: .500, deviation: .003}"), "stack", {}))
    ends = float(bound.low.nm), float(bound.high.nm)
    draw = Random(7)  # noqa: S311 - for a test
    middle, deviation = 500.0 * THOU, 3.0 * THOU
    count = sum(not ends[0] <= draw.gauss(middle, deviation) <= ends[1] for _ in range(drums))
    assert count <= drums * rate + 5 * sqrt(drums * rate)
    assert bound.holds(Length(round(middle + 3.99 * deviation)))
    assert not bound.holds(Length(round(middle + 4.01 * deviation)))


@pytest.mark.parametrize("number", [20, 60])
def test_of_drums_alike_two_in_n_and_one_lie_outside_of_each_other(number: int) -> None:
    """The chance is 2 / (n + 1) where rooms are not rounded and the reading has no doubt."""
    draw = Random(number)  # noqa: S311 - for a test
    tries = times(24_000, 4_000)
    outside = far_off = 0
    for _ in range(tries):
        *former, last = (draw.gauss(0, 1) for _ in range(number + 1))
        outside += not min(former) <= last <= max(former)
        far_off += abs(last - statistics.fmean(former)) > FAR * statistics.stdev(former)
    rate = 2 / (number + 1)
    assert abs(outside / tries - rate) <= 5 * sqrt(rate / tries)
    assert far_off / tries <= 0.001 + 5 * sqrt(0.001 / tries)


def test_the_deviations_of_few_drums_err_as_students_t_says() -> None:
    from scipy.stats import t

    beyond = 2 * t.sf(FAR / sqrt(1 + 1 / FEWEST), FEWEST - 1)
    assert round(1 / beyond, -2) == 1_000


def test_a_bound_tells_how_far_off_a_room_is() -> None:
    bound = RoomBound("spaces", Length(10), Length(20), slack=Length(3))
    assert [bound.off(Length(at)) for at in (4, 10, 15, 20, 24)] == [
        Length(off) for off in (-6, 0, 0, 0, 4)
    ]
    assert [bound.holds(Length(at)) for at in (6, 7, 23, 24)] == [False, True, True, False]
