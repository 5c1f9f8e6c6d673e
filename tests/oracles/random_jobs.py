"""Random small jobs, written as people write them.

An obvious generator seldom reaches the engine: nearly nothing fits, and nothing is contested.
So an answer is planted: parts are picked first and the readings are worked out from them. Then
stock is made short or a reading is moved, so that about half of the jobs fit and half do not.
Every feature a job uses is a road; tests count them.

Lengths are drawn in whole thousandths of a millimetre.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction
from random import Random
from typing import Any

from specs.case import Case, case_of
from specs.unit import AIMS
from specs.yaml_door import Source
from tests.oracles.random_stacks import Drawn, Families, Lot, Stacked, Stacker, mm

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class RandomJob:
    """A job as written, and the roads it takes."""

    seed: int
    document: Document
    roads: frozenset[str]

    def case(self) -> Case:
        """The job as read; every value stands as text, as the YAML door hands it over."""
        return case_of(Source(f"random job {self.seed}", as_text(self.document), {}))


def as_text(value: Any) -> Any:
    """Turn every number into text, as a file holds it."""
    if isinstance(value, dict):
        return {str(key): as_text(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [as_text(item) for item in value]
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def random_job(seed: int, *, larger: bool = False) -> RandomJob:
    """Draw one job; the same seed draws the same job."""
    return _Drawing(Random(seed), larger).job(seed)


@dataclass
class _Drawing:
    """One job in the making."""

    rng: Random
    larger: bool
    roads: set[str] = field(default_factory=set)

    def chance(self, share: float, road: str = "") -> bool:
        taken = self.rng.random() < share
        if taken and road:
            self.roads.add(road)
        return taken

    def job(self, seed: int) -> RandomJob:
        self.families = Families(self.rng, self.roads, larger=self.larger)
        self.stacker = Stacker(self.rng, self.roads, self.families, larger=self.larger)
        names = ["low drum", "front play", "high drum"][: self._how_many()]
        if len(names) > 1:
            self.roads.add("several gaps")
        self.share_one = len(names) > 1 and self.chance(0.4, "shared reading")
        self.gasket = self.rng.randrange(200, 600)
        gaps = {name: self._gap(name, nth) for nth, name in enumerate(names)}
        self._shorten(gaps)
        unit: Document = {
            "families": self.families.written(),
            "packs": {n: gap.spec for n, gap in gaps.items() if gap.pack},
            "end plays": {n: gap.spec for n, gap in gaps.items() if not gap.pack},
            "facts": {"pressure": {"values": ["standard", "raised"], "default": "standard"}},
            "rules": self._rules(gaps),
        }
        if self.stacker.shared:
            unit["shared parts"] = self.stacker.shared
        job: Document = {"gaps": {name: gap.work for name, gap in gaps.items()}}
        if self.share_one:
            unit["readings"] = {"gasket": "the gasket as it comes"}
            job["readings"] = {"gasket": mm(self.gasket)}
        if self.chance(0.2):
            job["facts"] = {"pressure": self.rng.choice(["standard", "raised"])}
        self._aims(unit, job)
        shelf = self.families.shelf()
        document = {"length": "mm", "unit": unit, "shelf": shelf, "job": job}
        return RandomJob(seed, document, frozenset(self.roads))

    def _how_many(self) -> int:
        return self.rng.choice([1, 1, 2, 2, 2, 3] if not self.larger else [1, 2, 3])

    def _gap(self, name: str, nth: int) -> Drawn:
        pack = nth != 1 and not (nth == 0 and self.chance(0.15))
        spec: Document = {}
        work: Document = {}
        if pack:
            self._pack(spec)
        if self.chance(0.3, "first in from the other end"):
            spec["first in"] = "ring" if pack else "rear"
        if self.chance(0.3, "reach"):
            spec["reach"] = self.rng.choice([0, 2, 5])
        few = 2 if self.larger else 1
        several = self.chance(0.35, "several layouts")
        stacks = {
            layout: self.stacker.stack(pack=pack, nth=nth, smaller=several)
            for layout in (["full", "cut", "odd"][: 1 + several * self.rng.randint(1, few)])
        }
        drawn = Drawn(name, pack, spec, work, stacks, self.rng.choice([*stacks]))
        self._windows(drawn)
        if not several and self.chance(0.6):
            spec |= {key: value for key, value in spec["layouts"]["full"].items() if key == "stack"}
            spec["window"] = spec["layouts"]["full"]["window"]
            if not all(stack.faces_apart for stack in stacks.values()):
                spec.pop("stack"), spec.pop("window")
            else:
                spec["space"] = spec["layouts"].pop("full")["space"]
                del spec["layouts"]
                drawn.layout_names = {"full": "stack"}
        return drawn
