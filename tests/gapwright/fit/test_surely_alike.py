"""Builds weighed once for all that are alike in their doubt, against each weighed by itself."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

from gapwright.fit.build_uncertainty import BuildUncertainty
from gapwright.fit.decision_rule import ConformanceTest, Demand
from solver.builds.patterns import list_patterns
from solver.problem import judge
from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import terms_of
from specs.models.gauges import Gauge
from specs.uncertainty.distribution import MILLION
from specs.uncertainty.propagation import curve, variance_of
from specs.values.lengths import Length
from tests.oracles.against_brute import posed, ready_gaps
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.problem.gaps import GridLayout
    from solver.problem.instance import GapBuild, Instance
    from specs.gaps.uncertainty_budget import Placed
    from specs.models.case import Case
    from specs.models.shelf import ShelfLot


def doubtful(case: Case, random: Random) -> Case:
    """Give the parts of some families a tolerance, and measured lots a doubtful gauge."""
    wide = (0, 0, 4_000, 11_000, 30_000)
    families = {
        name: family.model_copy(update={"tolerance": Length(random.choice(wide))})
        for name, family in case.unit.families.items()
    }
    gauge = Gauge.model_validate({"tells": Length(random.choice((9_000, 25_000)))})
    unit = case.unit.model_copy(update={"families": families, "gauges": {"caliper": gauge}})
    shelf = {
        name: {
            size: tuple(lot.model_copy(update=_measured(lot, random)) for lot in lots)
            for size, lots in sizes.items()
        }
        for name, sizes in case.shelf.items()
    }
    return replace(case, unit=unit, shelf=shelf)


def _measured(lot: ShelfLot, random: Random) -> dict[str, object]:
    if lot.thickness is None:
        return {}
    return {"gauge": random.choice((None, "caliper")), "within": Length(random.choice((0, 8_000)))}


def placed_in(instance: Instance, layout: GridLayout, build: GapBuild) -> Placed:
    return {
        place.label: tuple(instance.choices[part].lots[0] for part in parts)
        for place, parts in zip(layout.places, build.parts, strict=True)
    }


def by_itself(case: Case, instance: Instance, index: int, build: GapBuild, demand: Demand) -> bool:
    gap = instance.gaps[index]
    layout = gap.layouts[build.layout]
    terms = terms_of(JobGap(case, gap.name), layout.name, placed_in(instance, layout, build))
    left = judge.gap_of(instance, (build,) * (index + 1), index)
    ends = [None if end is None else end - left for end in (layout.low, layout.high)]
    low, high = (None if end is None else Length(end * instance.step) for end in ends)
    return curve(terms).between(low, high).least * 100 >= demand.percent * MILLION


def test_builds_alike_in_doubt_are_as_sure_as_each_by_itself() -> None:
    random, said = Random(4), Counter[bool]()  # noqa: S311 - seeded, for a test
    for seed in range(150):
        case = random_job(seed).case()
        if not ready_gaps(case):
            continue
        case = doubtful(case, random)
        instance = posed(case)
        demand = Demand(Fraction(random.choice((60, 90, 99))))
        surely = ConformanceTest(BuildUncertainty(case, instance.choices, instance.step), demand)
        for index, gap in enumerate(instance.gaps):
            builds = [pattern.build for pattern in list_patterns(instance, gap)]
            for build in random.sample(builds, min(12, len(builds))):
                layout = gap.layouts[build.layout]
                left = judge.gap_of(instance, (build,) * (index + 1), index)
                answer = surely(gap.name, layout, build, left)
                assert answer == by_itself(case, instance, index, build, demand), (seed, gap.name)
                said[answer] += 1
    assert min(said.values()) >= 150


def test_what_is_weighed_once_is_alike_in_its_variance() -> None:
    """Ten times the doubt would not show in an answer that is far from its limit."""
    random, shared = Random(8), Counter[str]()  # noqa: S311 - seeded, for a test
    for seed in range(150):
        case = random_job(seed).case()
        if not ready_gaps(case):
            continue
        case = doubtful(case, random)
        instance = posed(case)
        doubts = BuildUncertainty(case, instance.choices, instance.step)
        for gap in instance.gaps:
            variances: dict[object, Fraction] = {}
            for build in (pattern.build for pattern in list_patterns(instance, gap)[:150]):
                layout = gap.layouts[build.layout]
                terms = terms_of(
                    JobGap(case, gap.name), layout.name, placed_in(instance, layout, build)
                )
                variance = variance_of(terms)
                alike = layout.name, doubts.signature(layout, build)
                assert variances.setdefault(alike, variance) == variance, (seed, gap.name)
                lots = [instance.choices[part].lots[0] for here in build.parts for part in here]
                shared["measured"] += any(lot.measured and not lot.own for lot in lots)
                shared["own"] += any(lot.own for lot in lots)
                shared["all"] += 1
            shared["weighed"] += len(variances)
    assert shared["weighed"] < shared["all"] * 4 // 5
    assert min(shared["measured"], shared["own"]) >= 300
