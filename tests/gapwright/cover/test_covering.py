"""Covering a case, from files as people write them: against brute force, and what it is asked."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

import pytest

from gapwright.cover.answer import past, thin_zones
from gapwright.cover.service import Covered, CoverOptions, cover_case
from gapwright.fit.service import fit_case
from solver.problem.solution import Fit
from specs.errors import InputError
from specs.files.history import History
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.job_gap import JobGap
from specs.gaps.varied_reading import move_reading, move_space
from specs.values.lengths import Length, number, parse_length
from tests.amounts import few, share
from tests.oracles.brute_alternatives import looks
from tests.oracles.brute_files import own_space
from tests.oracles.brute_force import LENGTHS, Brute
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.cover.covering import Served
    from specs.models.case import Case

UNIT = """\
length: in
unit:
  name: Harrow 4
  families:
    friction: {kind: friction, fixed: .0750}
    drum steel: {kind: steel, sizes: {thick: .0880, thin: .0690}}
    drum ring: {kind: ring, sizes: [.0720, .0800, .0880]}
    hub washer: {kind: washer, sizes: [.0500, .0700]}
  packs:
    low drum:
      window: .010 to .018
      space: depth - straightedge
      readings: {depth: face to piston, straightedge: its thickness}
      stack: [{repeat: 2, of: [friction, drum steel]}, drum ring]
  end plays:
    front play:
      window: .005 to .015
      space: 1/2 * shaft
      readings: {shaft: twice the end}
      stack: [hub washer]
shelf:
  drum steel: {thick: 2}
  drum ring: {.0720: 1, .0880: 1}
  hub washer: {.0500: 1, .0700: 1}
"""
JOB = "job: {gaps: {low drum: {readings: {depth: .670, straightedge: .250}}}}\n"


def case(text: str = UNIT) -> Case:
    return case_of(parse(text, "bench.yaml"), needs=("unit", "shelf"))


def inches(text: str) -> Length:
    return parse_length(text, "in")


def marks(covered: Covered) -> str:
    return "".join({"fit": "#", "no fit": ".", "unknown": "?"}[s.status] for s in covered.served)


def test_a_hole_is_named_with_the_size_that_closes_it() -> None:
    (covered,) = cover_case(case(), CoverOptions("low drum"))
    assert marks(covered).strip(".") == "#########.......#########"
    (hole,) = covered.holes
    assert covered.at(hole.first) == inches(".417")
    assert covered.at(hole.last) == inches(".423")
    assert hole.addition
    choice = covered.sweep.instance.choices[hole.addition.choice]
    assert (choice.family, choice.size, hole.addition.count) == ("drum ring", ".0800", 1)


def test_the_default_range_goes_a_window_beyond_all_the_unit_could_serve() -> None:
    (covered,) = cover_case(case(), CoverOptions("low drum"))
    thinnest = Fraction(2 * 750 + 2 * 690 + 720 + 100, 10_000)
    thickest = Fraction(2 * 750 + 2 * 880 + 880 + 180, 10_000)
    assert covered.at(0).nm / 25_400_000 == thinnest - Fraction(8, 1000)
    assert covered.last.nm / 25_400_000 == thickest + Fraction(8, 1000)


def test_every_gap_is_covered_in_turn_where_none_is_named() -> None:
    covers = cover_case(case(), CoverOptions())
    assert [one.moving.name for one in covers] == ["low drum", "front play"]
    assert all(one.alone for one in covers)


def test_the_others_stand_as_the_job_has_them_unless_they_are_left_aside() -> None:
    text = UNIT + JOB
    (joint,) = cover_case(case(text), CoverOptions("front play"))
    assert joint.gaps == ("low drum", "front play")
    assert "#" not in marks(joint)
    (alone,) = cover_case(case(text), CoverOptions("front play", alone=True))
    assert alone.gaps == ("front play",)
    assert "#" in marks(alone)


def test_a_reading_moves_its_gap_by_its_factor() -> None:
    (space,) = cover_case(case(), CoverOptions("front play", step=inches(".001")))
    (reading,) = cover_case(case(), CoverOptions(reading="shaft", step=inches(".001")))
    rows = {space.at(n): s.status for n, s in enumerate(space.served)}
    seen = 0
    for nth, one in enumerate(reading.served):
        half = reading.at(nth) / 2
        if half in rows:
            assert rows[half] == one.status
            seen += one.status == "fit"
    assert seen > 10


def test_past_drums_are_counted_where_they_lie_on_a_value() -> None:
    rows = {".400": 3, ".412": 5, ".420": 7, ".430": 11, ".4305": 2}
    history = History(
        "past.csv", ("low drum",), Counter({(inches(t),): n for t, n in rows.items()})
    )
    (covered,) = cover_case(case(), CoverOptions("low drum", step=inches(".001")), history)
    told = past(covered)
    assert (told.drums, told.seen, told.served) == (28, 26, 16)
    (finer,) = cover_case(case(), CoverOptions("low drum"), history)
    assert finer.step == inches(".0005")
    assert past(finer).seen == 28


def test_what_is_served_of_past_drums_is_what_fits_of_them() -> None:
    """Each drum of a history, rebuilt by itself."""
    spaces = [Length(25_400 * n) for n in range(395, 445, 3)]
    history = History("past.csv", ("low drum",), Counter((length,) for length in spaces))
    (covered,) = cover_case(case(), CoverOptions("low drum"), history)
    drums = [fit_case(case(UNIT.replace("depth - straightedge", "depth") + job(s))) for s in spaces]
    fits = sum(isinstance(drum.answer, Fit) for drum in drums)
    assert past(covered).served == fits > 5


def job(space: Length) -> str:
    return f"job: {{gaps: {{low drum: {{readings: {{depth: {number(space, 'in')}}}}}}}}}\n"


def test_thin_steels_begin_where_the_thick_ones_leave_no_room() -> None:
    plenty = UNIT.replace("{thick: 2}", "{thick: 2, thin: 2}")
    (covered,) = cover_case(case(plenty), CoverOptions("low drum"))
    zones = [(thin, covered.at(run.first)) for run, thin in thin_zones(covered)]
    assert [thin for thin, _ in zones] == [2, 2, 1, 1, 0, 0]
    assert zones[2][1] == inches(".391")  # from .389 on one would do, but at the very limit


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (CoverOptions("low drun"), 'did you mean "low drum"?'),
        (CoverOptions(reading="depht"), 'did you mean "depth"?'),
        (
            CoverOptions(reading="depth"),
            "low drum also waits for straightedge; write that in the job",
        ),
        (CoverOptions("front play", "depth"), "readings of front play: shaft"),
        (CoverOptions("low drum", step=Length(0)), "write a step above nothing"),
        (
            CoverOptions("low drum", first=Length(10**7), last=Length(0)),
            "write a --to above --from",
        ),
        (CoverOptions("low drum", step=Length(10)), "write a coarser --step"),
    ],
)
def test_what_cannot_be_asked_is_said(asked: CoverOptions, says: str) -> None:
    with pytest.raises(InputError, match=says.replace("?", r"\?")):
        cover_case(case(), asked)


def test_a_history_without_a_column_for_what_moves_is_refused() -> None:
    history = History("past.csv", ("high drum",), Counter({(Length(1),): 1}))
    with pytest.raises(InputError, match="name one low drum"):
        cover_case(case(), CoverOptions("low drum"), history)


def test_layouts_that_read_differently_need_a_job_or_a_reading() -> None:
    two = UNIT.replace(
        "      stack: [hub washer]",
        "      layouts:\n        one: {rank: 0, stack: [hub washer]}\n"
        "        two: {rank: 1, space: 1/3 * shaft, stack: [hub washer]}",
    )
    with pytest.raises(InputError, match="different readings"):
        cover_case(case(two), CoverOptions("front play"))
    (covered,) = cover_case(case(two), CoverOptions(reading="shaft"))
    assert {b.build[0].layout for b in covered.served if b.status == "fit"} == {0, 1}
    read = two + "job: {gaps: {front play: {readings: {shaft: .120}}}}\n"
    (stands,) = cover_case(case(read), CoverOptions("front play"))
    assert stands.moving.stands == inches(".060")


ROADS = {"fit": 60, "no fit": 60, "reading": 15, "space": 15, "several gaps": 20, "counted": 40}
ROADS |= {"clear": 100, "only to the limit": 70, "clear by another than the best": 8}


def test_every_value_is_the_best_of_all_assignments() -> None:
    """Brute force over the files' own words, at every value of a space or a reading."""
    roads: Counter[str] = Counter()
    for seed in few(range(230)):
        drawn = random_job(seed).case()
        ready = [name for name in drawn.unit.gaps if not JobGap(drawn, name).missing()]
        if not all(JobGap(drawn, name).layouts for name in ready):
            continue
        for covered in covers(drawn, ready[seed % len(ready)], seed):
            for nth, one in enumerate(covered.served):
                at = covered.moving.at(covered.at(nth))
                brute = Brute(at, covered.gaps, partial(moved_space, drawn, covered.moving.gap))
                roads.update(compared(brute, one, covered))
    assert [road for road, floor in ROADS.items() if roads[road] < share(floor)] == []


def moved_space(drawn: Case, moved: str, at: Case, gap: str, layout: str) -> Fraction:
    """The space of a layout; of a gap whose space moves it stays as far from the first layout's."""
    space = own_space(at, gap, layout)
    if gap != moved or at.unit.gaps[gap].space.text == drawn.unit.gaps[gap].space.text:
        return space
    first = next(iter(JobGap(drawn, gap).layouts))
    return space + own_space(drawn, gap, layout) - own_space(drawn, gap, first)


def covers(drawn: Case, name: str, seed: int) -> tuple[Covered, ...]:
    """A few values around where the job stands; of a reading of the gap, or of its space."""
    layout = next(iter(JobGap(drawn, name).layouts.values()))
    names = layout.space.readings
    step = layout.window.width / 3
    stands = move_space(drawn, name).stands
    reading = names[0] if seed % 2 and names else ""
    if reading:
        stands = move_reading(drawn, reading, name).stands
    ready = [one for one in drawn.unit.gaps if not JobGap(drawn, one).missing()]
    if stands is None or any(len(Brute(drawn, (one,)).fillings(one)) > 60 for one in ready):
        return ()
    first, last = stands - step * 2, stands + step * 2
    return cover_case(drawn, CoverOptions(name, reading, first=first, last=last, step=step))


def told_apart(brute: Brute, one: Served) -> set[str]:
    """Hold against brute force whether some build keeps every gap clear; the road it took."""
    if one.status != "fit":
        assert one.clear is None
        return set()
    allowed = (a for a in brute.assignments() if brute.worth(a) is not None)
    assert one.clear == any(brute.keeps_clear(together) for together in allowed)
    best = brute.best_assignment()
    assert best is not None
    if not one.clear:
        return {"only to the limit"}
    itself = brute.keeps_clear(best[1])
    return {"clear", *([] if itself else ["clear by another than the best"])}


def compared(brute: Brute, one: Served, covered: Covered) -> set[str]:
    """Hold one value against brute force; the roads it took."""
    best = brute.best()
    assert (one.status == "fit") == (best is not None)
    roads = {one.status, "space" if covered.moving.reading.startswith("room") else "reading"}
    roads |= {"several gaps"} if len(covered.gaps) > 1 else set()
    roads |= told_apart(brute, one)
    instance = covered.sweep.instance
    if best is not None:
        ours: dict[object, Fraction] = {
            (level.measure, level.shifts, level.grade): value
            * (instance.step if level.measure in LENGTHS else Fraction(1))
            for level, value in zip(instance.levels, one.values, strict=True)
        }
        assert all(ours.get(key, 0) == value for key, value in best.values.items())
    if one.builds is not None and len(covered.gaps) == 1:
        landing = (f for f in brute.fillings(covered.gaps[0]) if brute.worth((f,)) is not None)
        assert one.builds == len({looks(brute, filling) for filling in landing})
        roads.add("counted")
    return roads
