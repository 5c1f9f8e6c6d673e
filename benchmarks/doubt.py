"""What doubt costs on top of a plain fit: told of the answer, and asked of every build.

Told: the sum, its chance and what to measure again, of each gap of the fit. Asked: only builds that
are 80 % sure, each weighed. Parts as sold are in doubt by a thousandth of an inch, either way.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import count, islice
from time import process_time
from typing import TYPE_CHECKING, Any

from benchmarks.jobs import written
from benchmarks.one_pack import SHAPE as ONE_PACK
from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from benchmarks.whole_unit import SHAPE as WHOLE_UNIT
from gapwright.fit.assembly import assemblies_of
from gapwright.fit.build_uncertainty import BuildUncertainty
from gapwright.fit.conformance import conformance_of
from gapwright.fit.decision_rule import ConformanceTest, Demand
from inventory import on_hand
from solver import Fit, fit, instance_of
from specs.files.read import case_of
from specs.formats.yaml import Source

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchmarks.jobs import Shape
    from solver import Instance
    from specs.models.case import Case

ASKED = Demand(Fraction(80))
TOLD_AIM, ASKED_AIM = 1.3, 3.0


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time one pack and a whole unit, told and asked, in processor time."""
    jobs, rounds = (3, 3) if quick else (40, 5)
    rows: list[Row | Skipped] = []
    for name, shape in (("one pack", ONE_PACK), ("whole unit", WHOLE_UNIT)):
        pairs = list(islice(_fitting(shape), jobs))
        times = [
            in_turns(
                {
                    "plain": lambda instance=instance: fit(instance),  # type: ignore[misc]
                    "told": lambda case=case, instance=instance: _told(case, instance),  # type: ignore[misc]
                    "asked": lambda case=case, instance=instance: fit(_asked(case, instance)),  # type: ignore[misc]
                },
                rounds,
                process_time,
            )
            for case, instance in pairs
        ]
        plain = tuple(each["plain"] for each in times)
        for way, aim in (("told", TOLD_AIM), ("asked", ASKED_AIM)):
            ours = tuple(each[way] for each in times)
            rows.append(Row(f"{name}, doubt", f"fit, {way}", "plain fit", ours, plain, aim, ""))
    return rows


def _told(case: Case, instance: Instance) -> object:
    answer = fit(instance)
    if not isinstance(answer, Fit):
        raise TypeError("the job was to have a fit")
    return conformance_of(case, assemblies_of(case, instance, answer.build))


def _asked(case: Case, instance: Instance) -> Instance:
    return replace(
        instance,
        sure=ConformanceTest(BuildUncertainty(case, instance.choices, instance.step), ASKED),
    )


def _fitting(shape: Shape) -> Iterator[tuple[Case, Instance]]:
    for seed in count():
        case = case_of(Source("made", _doubtful(written(shape, seed)), {}))
        gaps = tuple(case.unit.gaps)
        instance = instance_of(case, on_hand(case, gaps), gaps)
        if isinstance(fit(instance), Fit):
            yield case, instance


def _doubtful(job: dict[str, Any]) -> dict[str, Any]:
    for family in job["unit"]["families"].values():
        family["tolerance"] = "0.001 in"
    return job
