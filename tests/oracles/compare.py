"""Lays an answer beside the brute force's, in lengths and names both understand."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import inventory
from solver.problem.from_case import instance_of
from solver.problem.solution import Fit, NoFit
from solver.rebuild.fit import fit
from specs.gaps.job_gap import JobGap
from tests.oracles.brute import LENGTHS, Brute

if TYPE_CHECKING:
    from solver.problem.instance import Build, Instance, LotChoice
    from solver.problem.solution import Answer, Miss
    from specs.models.case import Case
    from tests.oracles.brute_shapes import Best, Key, Nearest, Told

MOST_ASSIGNMENTS = 12_000


def ready_gaps(case: Case) -> tuple[str, ...]:
    """The gaps whose readings are there."""
    return tuple(name for name in case.unit.gaps if not JobGap(case, name).missing())


def posed(case: Case) -> Instance:
    """The instance of the gaps whose readings are there."""
    gaps = ready_gaps(case)
    return instance_of(case, inventory.on_hand(case, gaps), gaps)


def solve(case: Case) -> Answer:
    """The answer to the gaps whose readings are there."""
    return fit(posed(case))


def levels_of(instance: Instance, values: tuple[int, ...]) -> dict[Key, Fraction]:
    """The values of the levels by their names, lengths in nanometres."""
    return {
        (level.measure, level.shifts, level.grade): value
        * (instance.step if level.measure in LENGTHS else Fraction(1))
        for level, value in zip(instance.levels, values, strict=True)
    }


def told(instance: Instance, build: Build) -> Told:
    """A build by names: each gap's layout, and what lies at each place."""
    found = []
    for gap, chosen in zip(instance.gaps, build, strict=True):
        layout = gap.layouts[chosen.layout]
        places = zip(layout.places, chosen.parts, strict=True)
        parts: dict[str, tuple[object, ...]] = {
            place.label: tuple(_told(instance.choices[choice]) for choice in here)
            for place, here in places
        }
        found.append((layout.name, parts))
    return tuple(found)


def _told(choice: LotChoice) -> tuple[object, ...]:
    """All that tells a choice from others."""
    lot = choice.lots[0]
    return lot.family, lot.size, lot.thickness.nm, lot.condition, lot.own


def disagreements(answer: Answer, best: Best | None) -> list[str]:
    """Everything in which an answer is not the brute force's."""
    if not isinstance(answer, Fit):
        return [] if isinstance(answer, NoFit) and best is None else [f"{answer} is not {best}"]
    if best is None or not answer.proved:
        return [f"{answer} is not {best}"]
    instance = answer.instance
    ours = levels_of(instance, answer.values)
    found = [
        f"{key}: {ours.get(key, 0)} is not {value}"
        for key, value in best.values.items()
        if ours.get(key, 0) != value
    ]
    found += [f"{key}: unknown to the oracle" for key in ours.keys() - best.values.keys()]
    if list(ours) != [key for key in best.values if key in ours]:
        found.append(f"the levels stand in another order: {list(ours)}")
    gaps = tuple(gap * instance.step for gap in answer.gaps)
    if not found and (told(instance, answer.build), gaps) != (best.build, best.gaps):
        found.append(f"{told(instance, answer.build)} is not {best.build}")
    return found


def miss_disagreements(answer: NoFit, nearest: Nearest) -> list[str]:
    """Everything in which a nearest miss is not the brute force's."""
    alone = tuple(_alone(answer.instance, miss) for miss in answer.alone)
    together = None if answer.together is None else _ratios(answer.instance, answer.together)
    found = [] if alone == nearest.alone else [f"alone: {alone} is not {nearest.alone}"]
    if together != nearest.together:
        found.append(f"together: {together} is not {nearest.together}")
    return found


def _alone(instance: Instance, miss: Miss) -> tuple[Fraction, Fraction] | None:
    assert miss.status != "unknown"
    if miss.status == "unfillable":
        return None
    return miss.by * instance.step, miss.gap * instance.step


def _ratios(instance: Instance, build: Build) -> tuple[int, int]:
    """The largest miss of a build in ten-thousandths of its window, and their sum."""
    ratios = []
    for gap, chosen in zip(instance.gaps, build, strict=True):
        layout = gap.layouts[chosen.layout]
        places = zip(layout.places, chosen.parts, strict=True)
        left = layout.room - sum(place.takes[c] for place, here in places for c in here)
        under = 0 if layout.low is None else layout.low - left
        over = 0 if layout.high is None else left - layout.high
        ratios.append(-(-10_000 * max(0, under, over) // layout.width))
    return max(ratios), sum(ratios)


def brute_of(case: Case) -> Brute | None:
    """The brute force of a job; nothing where it would take too long."""
    brute = Brute(case, ready_gaps(case))
    number = 1
    for gap in brute.gaps:
        number *= max(1, len(brute.fillings(gap)))
        if number > MOST_ASSIGNMENTS:
            return None
    return brute
