"""Other builds as good as the best, gap by gap, by trying everything.

As good: equal on every aim before `spare`, the other gaps held. Two builds are the same to a
person where their layout and their counts by size are.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from solver.engines.limits import Clock, Limits
from solver.rebuild.alternatives import MOST, equal_builds
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.problem.instance import GapBuild
    from solver.problem.solution import Fit
    from specs.models.case import Case
    from tests.oracles.brute import Brute
    from tests.oracles.brute_shapes import Filling

Looks = tuple[str, frozenset[tuple[tuple[str, str], int]]]


def as_good(brute: Brute, index: int) -> list[Looks]:
    """How the other builds of one gap look that are as good, the best first."""
    best = brute.best_assignment()
    assert best is not None
    values, held = best
    aims = [level[0] for level in brute.levels]
    seen = aims.index("shims") if "shims" in aims else len(aims)
    found: dict[Looks, tuple[object, ...]] = {}
    for filling in brute.fillings(brute.gaps[index]):
        together = (*held[:index], filling, *held[index + 1 :])
        worth = brute.worth(together)
        if worth is None or worth[:seen] != values[:seen]:
            continue
        rank = worth, filling.order
        look = _looks(brute, filling)
        found[look] = min(found.get(look, rank), rank)
    found.pop(_looks(brute, held[index]), None)
    return sorted(found, key=lambda look: found[look])


def _looks(brute: Brute, filling: Filling) -> Looks:
    kinds = [brute.kinds[kind] for here in filling.order[1] for kind in here]
    counts = Counter((kind.family, kind.size) for kind in kinds)
    return filling.stack.name, frozenset(counts.items())


def looks_of(fit: Fit, index: int, build: GapBuild) -> Looks:
    """How a build of the solver's looks."""
    choices = [fit.instance.choices[choice] for here in build.parts for choice in here]
    counts = Counter((choice.family, choice.size) for choice in choices)
    return fit.instance.gaps[index].layouts[build.layout].name, frozenset(counts.items())


def with_few_aims(seed: int) -> Case:
    """A random job in which much is equally good."""
    job = random_job(seed)
    aims = ["layout", "middle", "spare"] if seed % 3 else ["thin", "spare", "heat"]
    document = job.document | {"job": job.document["job"] | {"aims": aims}}
    return replace(job, document=document).case()


def equal_differences(brute: Brute, fit: Fit, index: int, *, listed: bool) -> tuple[list[str], int]:
    """In what the solver's equal builds are not the oracle's; and how many there are."""
    equal = equal_builds(fit, index, Clock(Limits()))
    best = as_good(brute, index)
    shown = best if listed else best[:MOST]
    looks = None if equal is None else [looks_of(fit, index, build) for build in equal]
    return ([] if looks == shown else [f"{looks} is not {shown}"]), len(best)
