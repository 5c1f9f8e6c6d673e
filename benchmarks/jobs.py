"""Makes rebuilds to time, from a seed: our own file format, then posed like any other job.

A build is planted in each, so that most jobs fit: parts are drawn, the room is set so that they
land somewhere in the window, and the shelf holds them and a few more. All packs draw on one
family of steels. The last pack has a second layout with one steel more; with end plays, one
washer counts in both. Lengths are whole ten-thousandths of an inch while a job is made.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random
from typing import Any

from inventory import catalogue, on_hand
from solver import Instance, instance_of
from specs.files.read import case_of
from specs.formats.yaml import Source

FRICTION, APPLY_PLATE, FULL_PLATE, CUT_PLATE = 800, 1000, 1900, 1210
RINGS = (620, 660, 700, 740, 780, 820)
WASHERS = (480, 540, 600, 660, 720, 780)
Lots = dict[str, list[tuple[int, int]]]
"""For each size, its lots: the thickness as measured, and how many there are."""


@dataclass(frozen=True, slots=True)
class Shape:
    """How large the jobs of a case are, and how scarce their parts."""

    packs: int = 1
    steels: tuple[int, int] = (3, 6)
    """The fewest and the most steels of a pack."""
    sizes: tuple[int, ...] = (690, 785, 880)
    """The steels' nominals."""
    lots: int = 2
    """How many lots of each steel size were measured."""
    spare: int = 2
    """The most steels of one lot beyond those of the planted build."""
    width: tuple[int, int] = (150, 250)
    """The least and the greatest width of a window."""
    plays: bool = False
    """Whether there are two end plays with a washer in both."""
    built: float = 0.5
    """How often the job says what is in the unit now."""
    short: int = 0
    """How many of the planted steels are missing."""
    swapped: int = 0
    """How many of the planted steels are not on the shelf, others being there in their stead."""


@dataclass(slots=True)
class _Making:
    """One job while it is made."""

    random: Random
    shape: Shape
    lots: Lots = field(default_factory=dict)
    """The measured steels."""
    used: list[int] = field(default_factory=list)
    """The steels of the planted build."""
    packs: dict[str, Any] = field(default_factory=dict)
    plays: dict[str, Any] = field(default_factory=dict)
    gaps: dict[str, Any] = field(default_factory=dict)
    """What the job says of each gap."""

    def data(self) -> dict[str, Any]:
        built = self.random.random() < self.shape.built
        sizes = self.shape.sizes
        drift = {nominal: self._thicknesses(nominal) for nominal in sizes}
        for nth in range(self.shape.packs):
            self._pack(f"pack {nth + 1}", drift, built=built, last=nth + 1 == self.shape.packs)
        if self.shape.plays:
            self._end_plays(built=built)
        shelf: dict[str, Any] = {"steel": self._steels(drift), "ring": self._some(RINGS)}
        if self.shape.plays:
            shelf["washer"] = self._some(WASHERS)
        unit = {
            "families": _families(sizes),
            "packs": self.packs,
            "end plays": self.plays,
            "shared parts": {"drum washer": "washer"} if self.shape.plays else {},
        }
        return {"length": "in", "unit": unit, "shelf": shelf, "job": {"gaps": self.gaps}}

    def _thicknesses(self, nominal: int) -> list[int]:
        """What the lots of a size measured: one as sold, the others a little off."""
        off = self.random.sample([n for n in range(-20, 21) if n], self.shape.lots - 1)
        return [nominal, *(nominal + n for n in off)]

    def _pack(self, name: str, drift: dict[int, list[int]], *, built: bool, last: bool) -> None:
        steels = self.random.randint(*self.shape.steels)
        window, planted_gap = self._window(200, 400)
        choices = [thickness for lots in drift.values() for thickness in lots]
        planted = self.random.choices(choices, k=steels)
        self.used += planted
        fixed = APPLY_PLATE + FULL_PLATE + FRICTION * (steels + 1)
        room = planted_gap + fixed + sum(planted) + self.random.choice(RINGS)
        stack = _stack(steels, "full plate")
        pack = self._gap(window) | {"works": self.random.choice(["shifts", "holds"])}
        if last and self.shape.packs > 1:
            cut = {"rank": "1", "stack": _stack(steels + 1, "cut plate")}
            pack |= {"layouts": {"full plate": {"rank": "0", "stack": stack}, "cut plate": cut}}
        else:
            pack |= {"stack": stack}
        self.packs[name] = pack
        self.gaps[name] = {"readings": {"room": _inches(room)}}
        if built:
            old = self.random.choices(self.shape.sizes, k=steels)
            parts = [_inches(part) for part in (*old, self.random.choice(RINGS))]
            layout = {"layout": "full plate"} if "layouts" in pack else {}
            self.gaps[name]["now"] = {"parts": parts, **layout}

    def _end_plays(self, *, built: bool) -> None:
        """Two plays whose drum washer is one part: it closes the front and opens the rear."""
        front, drum, rear = self.random.choices(WASHERS, k=3)
        old = [_inches(part) for part in self.random.choices(WASHERS, k=3)]
        opens = {"part": "drum washer", "factor": "-1"}
        for name, stack, taken, now in (
            ("front play", ["washer", "drum washer"], front + drum, old[:2]),
            ("rear play", [opens, "washer"], rear - drum, old[1:]),
        ):
            window, planted_gap = self._window(50, 150)
            self.plays[name] = {**self._gap(window), "stack": stack}
            room = 3000 + planted_gap + taken
            self.plays[name]["space"] = "room - 0.3000"
            self.gaps[name] = {"readings": {"room": _inches(room)}}
            if built:
                self.gaps[name]["now"] = {"parts": now}

    def _window(self, least: int, most: int) -> tuple[str, int]:
        """A window as written, and a gap that lies in it."""
        low = self.random.randrange(least, most, 10)
        high = low + self.random.randrange(*self.shape.width, 2)
        return f"{_inches(low)} to {_inches(high)}", self.random.randint(low, high)

    def _gap(self, window: str) -> dict[str, Any]:
        return {"window": window, "space": "room", "readings": {"room": "what there is to fill"}}

    def _steels(self, drift: dict[int, list[int]]) -> dict[str, Any]:
        """The planted steels, some of them swapped, and up to `spare` more of each lot."""
        gone = self.shape.swapped + self.shape.short
        left = self.random.sample(self.used, len(self.used) - gone)
        others = [thickness for lots in drift.values() for thickness in lots]
        left += self.random.choices(others, k=self.shape.swapped)
        return {
            _inches(nominal): [
                {
                    "count": str(left.count(thickness) + self.random.randint(0, self.shape.spare)),
                    "thickness": _inches(thickness),
                }
                for thickness in lots
            ]
            for nominal, lots in drift.items()
        }

    def _some(self, sizes: tuple[int, ...]) -> dict[str, str]:
        """As many of each ring or washer as there are places for them."""
        return {_inches(size): str(self.shape.packs + 1) for size in sizes}


def posed(shape: Shape, seed: int, *, for_sale: bool = False) -> Instance:
    """Make one job and instance_of it; all sizes may be for sale as well."""
    case = case_of(Source("benchmark", written(shape, seed), {}))
    gaps = tuple(case.unit.gaps)
    bought = catalogue(case) if for_sale else ()
    return instance_of(case, (*on_hand(case, gaps), *bought), gaps)


def written(shape: Shape, seed: int) -> dict[str, Any]:
    """Make one job as it would stand in a file."""
    return _Making(Random(seed), shape).data()  # noqa: S311 - jobs to time are no secrets


def _families(sizes: tuple[int, ...]) -> dict[str, Any]:
    return {
        "steel": {
            "kind": "steel",
            "sizes": [_inches(size) for size in sizes],
            "tolerance": "0.0020",
        },
        "ring": {"kind": "ring", "sizes": [_inches(size) for size in RINGS]},
        "washer": {"kind": "washer", "sizes": [_inches(size) for size in WASHERS]},
        "friction": {"kind": "friction", "fixed": _inches(FRICTION)},
        "apply plate": {"kind": "apply plate", "fixed": _inches(APPLY_PLATE)},
        "full plate": {"kind": "pressure plate", "fixed": _inches(FULL_PLATE)},
        "cut plate": {"kind": "pressure plate", "fixed": _inches(CUT_PLATE)},
    }


def _stack(steels: int, plate: str) -> list[Any]:
    plates = {"repeat": str(steels), "of": ["friction", "steel"]}
    return ["apply plate", plates, "friction", plate, "ring"]


def _inches(tenths: int) -> str:
    """Write ten-thousandths of an inch as inches."""
    sign = "-" if tenths < 0 else ""
    return f"{sign}{abs(tenths) // 10_000}.{abs(tenths) % 10_000:04d}"
