"""The main job against the facts of the trade. All of them: common practice, no source.

Every sweep is compared with a plain enumeration in thousandths of an inch. A pack's best build has
the fewest thin steels that reach the window; of those with as few, the gap nearest the aim.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import product
from typing import TYPE_CHECKING, Any

import pytest

from gapwright.fit.service import fit_case
from solver.problem.solution import Fit, NoFit
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from tests.amounts import every, share, spread
from tests.published.compared import NM
from tests.published.printed import PUBLISHED

if TYPE_CHECKING:
    from solver.problem.solution import Answer

UNIT = yaml_door.read(PUBLISHED / "trade.yaml").data
THIN, THICK = 66, 85  # common practice, no source
FRICTION, STEELS, RINGS = 65, 3, (62, 74)  # common practice, no source
FRONT, FRONT_AIM = (20, 35), Fraction(55, 2)  # common practice, no source; its middle
REAR, REAR_AIM = (70, 90), Fraction(80)  # near 0.080: common practice, no source; width ours
TRAIN, WASHERS = (30, 40), (56, 63, 70, 77, 84)  # common practice, no source; washers ours
FIXED = 120 + 200 + 4 * FRICTION  # the two plates are ours


ALL_AIMS = ("layout", "thin", "heat", "middle", "change", "aim", "spare")


@cache
def ask(
    pack: str,
    trial: tuple[str, ...],
    gap: int,
    thick_on_hand: str = "6",
    aims: tuple[str, ...] = ALL_AIMS,
) -> Answer:
    shelf = {**UNIT["shelf"], "steel": {"thick": thick_on_hand, "thin": "6"}}
    work: dict[str, Any] = {"trial": list(trial), "gap": f"{gap} thou"}
    job = {"gaps": {pack: work}, "aims": list(aims)}
    data = {**UNIT, "shelf": shelf, "job": job}
    return fit_case(case_of(yaml_door.Source("trade", data, {}))).answer


def thou(answer: Fit, length: int) -> int:
    exact = length * answer.instance.step / NM["in"] * 1000
    assert exact.denominator == 1
    return int(exact)


def chosen(answer: Fit, gap: int = 0) -> list[int]:
    """The thickness of each chosen part of a gap, from the piston on."""
    return [
        thou(answer, answer.instance.choices[choice].thickness)
        for place in answer.build[gap].parts
        for choice in place
    ]


def height(name: str) -> int:
    return {"thick": THICK, "thin": THIN}.get(name) or round(float(name) * 1000)


def stack_of(trial: tuple[str, ...]) -> int:
    return FIXED + sum(map(height, trial))


def fits(space: int, window: tuple[int, int]) -> list[tuple[int, int, int]]:
    """Every thin count and ring that lands in the window: thin steels, ring, gap."""
    found = []
    for thin, ring in product(range(STEELS + 1), RINGS):
        gap = space - FIXED - thin * THIN - (STEELS - thin) * THICK - ring
        if window[0] <= gap <= window[1]:
            found.append((thin, ring, gap))
    return found


def wanted(space: int, window: tuple[int, int], aim: Fraction) -> tuple[int, Fraction] | None:
    """The fewest thin steels there can be, and with as few the least distance from the aim."""
    return min(((thin, abs(gap - aim)) for thin, _, gap in fits(space, window)), default=None)


PACKS = {"front": (FRONT, FRONT_AIM), "rear": (REAR, REAR_AIM)}
TRIALS = [
    ("thin", "thin", "thin", ".0740"),  # the common build, common practice, no source
    ("thick", "thick", "thick", ".0740"),
    ("thick", "thin", "thick", ".0620"),
]
SWEEPS = [  # every thousandth from one (nothing is no reading) to more than any build can fill
    *(("front", trial, range(1, 111)) for trial in TRIALS),
    *(("rear", trial, range(1, 161)) for trial in TRIALS[:2]),
]


@pytest.mark.parametrize(("pack", "trial", "gaps"), SWEEPS)
def test_thin_steels_are_the_fewest_possible(
    pack: str, trial: tuple[str, ...], gaps: range
) -> None:
    window, aim = PACKS[pack]
    met = set()
    for gap in every(gaps):
        answer = ask(pack, trial, gap)
        expected = wanted(stack_of(trial) + gap, window, aim)
        met.add(expected and expected[0])
        if expected is None:
            assert isinstance(answer, NoFit), gap
            continue
        assert isinstance(answer, Fit), gap
        assert answer.proved
        thin, ring, left = (
            chosen(answer).count(THIN),
            chosen(answer)[-1],
            thou(answer, answer.gaps[0]),
        )
        assert (thin, ring, left) in fits(stack_of(trial) + gap, window), gap
        assert (thin, abs(left - aim)) == expected, gap
    assert len(met) >= 3  # no fit, all thick, and some thin


def test_thin_steels_are_the_fewest_with_no_heed_of_the_heat_end() -> None:
    for gap in spread(range(1, 111, 3), 12):
        answer = ask("front", TRIALS[1], gap, aims=("thin", "aim"))
        expected = wanted(stack_of(TRIALS[1]) + gap, FRONT, FRONT_AIM)
        assert isinstance(answer, Fit if expected else NoFit), gap
        if isinstance(answer, Fit):
            left = thou(answer, answer.gaps[0])
            assert (chosen(answer).count(THIN), abs(left - FRONT_AIM)) == expected, gap


@pytest.mark.parametrize("pack", PACKS)
def test_thin_steels_lie_at_the_piston(pack: str) -> None:
    mixed = 0
    for trial, gap in ((t, gap) for name, t, gaps in SWEEPS if name == pack for gap in every(gaps)):
        answer = ask(pack, trial, gap)
        if isinstance(answer, Fit):
            *steels, _ = chosen(answer)
            assert steels == sorted(steels), gap
            mixed += len(set(steels)) > 1
    assert mixed >= share(50)


def test_the_common_build_is_taken_where_it_is_the_only_one() -> None:
    """Four frictions of 0.065, three thin steels of 0.066, ring 0.074, 0.020 to 0.035 left."""
    for gap in range(24, 36):
        answer = ask("front", TRIALS[0], gap, "0")
        assert isinstance(answer, Fit)
        assert chosen(answer) == [THIN, THIN, THIN, 74]
        assert thou(answer, answer.gaps[0]) == gap


def test_the_thinner_ring_opens_the_clearance_by_the_difference() -> None:
    """Rings of 0.074 and 0.062: 0.012 more clearance; too tight by up to that, and it is taken."""
    for gap in range(8, 20):
        answer = ask("front", TRIALS[0], gap, "0")
        assert isinstance(answer, Fit)
        assert chosen(answer)[-1] == 62
        assert thou(answer, answer.gaps[0]) == gap + 12
    assert isinstance(ask("front", TRIALS[0], 7, "0"), NoFit)
    assert isinstance(ask("front", TRIALS[0], 36, "0"), NoFit)


def test_the_rear_pack_near_eighty_keeps_all_its_thick_steels() -> None:
    for gap in (*range(70, 91), *range(58, 70)):
        answer = ask("rear", TRIALS[1], gap)
        assert isinstance(answer, Fit)
        assert chosen(answer)[:3] == [THICK, THICK, THICK]
    needed = ask("rear", TRIALS[1], 55)
    assert isinstance(needed, Fit)
    assert chosen(needed)[:3] == [THIN, THICK, THICK]


def test_two_packs_that_share_few_thick_steels_have_the_fewest_thin_ones_together() -> None:
    """Both drums from one shelf, four thick steels and the trial builds' thin ones on hand."""
    met = set()
    for front, rear in spread([*product(range(24, 100, 9), range(40, 140, 9))], 36):
        answer = together(front, rear)
        spaces = [stack_of(TRIALS[0]) + front, stack_of(TRIALS[0]) + rear]
        pairs = [
            one[0] + two[0]
            for one, two in product(fits(spaces[0], FRONT), fits(spaces[1], REAR))
            if 6 - one[0] - two[0] <= 4
        ]
        assert isinstance(answer, Fit) == bool(pairs)
        met.add(min(pairs, default=None))
        if isinstance(answer, Fit):
            steels = chosen(answer)[:3] + chosen(answer, 1)[:3]
            assert steels.count(THIN) == min(pairs)
    assert {None, 2, 3} <= met


def together(front: int, rear: int) -> Answer:
    gaps = {
        pack: {"trial": list(TRIALS[0]), "gap": f"{gap} thou"}
        for pack, gap in (("front", front), ("rear", rear))
    }
    shelf = {**UNIT["shelf"], "steel": {"thick": "4", "thin": "6"}}
    data = {**UNIT, "shelf": shelf, "job": {"gaps": gaps}}
    return fit_case(case_of(yaml_door.Source("trade", data, {}))).answer


@pytest.mark.parametrize("washer", WASHERS[::2])
def test_the_train_end_play_is_set_by_the_washer_nearest_the_middle(washer: int) -> None:
    """0.030 to 0.040 of end play set by selective washers: common practice, no source."""
    met = set()
    for play in every(range(1, 91)):
        answer = ask("train", (f".{washer:03}0",), play)
        left = [
            washer + play - other
            for other in WASHERS
            if TRAIN[0] <= washer + play - other <= TRAIN[1]
        ]
        assert isinstance(answer, Fit if left else NoFit), play
        met.add(bool(left))
        if isinstance(answer, Fit):
            assert thou(answer, answer.gaps[0]) == min(left, key=lambda gap: abs(gap - 35))
    assert met == {True, False}
