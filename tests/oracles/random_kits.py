"""Random kits of a small unit, and what plain sums in microns say of them.

Nothing of the solver is imported. A gap is filled by a multiset for each group of like places,
drawn from the kit; it lands where what is left of the room lies in the window.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations_with_replacement, product
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

Part = tuple[str, str]
SIZES = {
    "steel": {"thick": 2000, "thin": 1600},
    "ring": {"A": 1500, "B": 1800, "C": 2100},
    "washer": {"1": 1000, "2": 1300},
    "shim": {"x": 200, "y": 350},
}
FRICTION = 1700
KINDS = {"steel": "steel", "ring": "ring", "washer": "washer", "shim": "shim"}
STACKS = {
    "low": ("repeat: 2, of: [steel, friction]", "ring"),
    "high": ("ring",),
    "play": ("washer", "part: shim, how many: 0 to 2"),
}
GROUPS = {
    "low": (("steel", 2, 2), ("ring", 1, 1)),
    "high": (("ring", 1, 1),),
    "play": (("washer", 1, 1), ("shim", 0, 2)),
}
FIXED = {"low": 2 * FRICTION, "high": 0, "play": 0}


@dataclass
class RandomKit:
    """A unit, a kit for it, and rooms of one job, of which some build of the unit lands most."""

    seed: int
    roads: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.rng = rng = Random(self.seed)  # noqa: S311 - no secret hangs on it
        self.windows = {
            name: (low, low + rng.choice([50, 300, 300, 300])) for name, low in
            (("low", 200), ("high", 100), ("play", 0))
        }  # fmt: skip
        parts = [(family, size) for family, sizes in SIZES.items() for size in sizes]
        counts = {part: rng.choice([0, 1, 1, 2, 2, 3]) for part in parts}
        counts["friction", ""] = rng.choice([0, 1, 2, 3])
        self.kit = +Counter(counts)
        self.gasket = rng.choice([0, 1])
        self.rooms = {name: self._room(name) for name in STACKS}

    def _room(self, name: str) -> int:
        """A room that some parts of the unit fill, mostly parts of the kit."""
        draws = [*self.fillings(name, self.kit)]
        plenty = Counter(dict.fromkeys(self.parts(), 9))
        drawn = self.rng.choice(draws or [*self.fillings(name, plenty)])
        low, high = self.windows[name]
        return FIXED[name] + thick(drawn) + self.rng.randint(low, high + 40)

    @staticmethod
    def parts() -> Iterator[Part]:
        """Every part that is chosen."""
        yield from ((family, size) for family, sizes in SIZES.items() for size in sizes)

    def text(self) -> str:
        """Unit, kit and job as a person would write them, in one file."""
        families = "".join(
            f"    {name}: {{kind: {KINDS[name]}, sizes: {{{mm(sizes)}}}}}\n"
            for name, sizes in SIZES.items()
        )
        gaps = {name: self._gap(name) for name in STACKS}
        jobs = ", ".join(
            f"{name}: {{readings: {{r: {r / 1000:.3f}}}}}" for name, r in self.rooms.items()
        )
        return (
            "length: mm\nunit:\n  families:\n"
            f"{families}    friction: {{kind: friction, fixed: {FRICTION / 1000}}}\n"
            f"  packs:\n{gaps['low']}{gaps['high']}  end plays:\n{gaps['play']}"
            "  always replaced: {gasket: crushed, friction: {count: 2, because: worn}}\n"
            f"kit:\n  also in it: {{gasket: {self.gasket}, seal: 1}}\n  contents:\n{self._listed()}"
            f"job: {{gaps: {{{jobs}}}}}\n"
        )

    def _gap(self, name: str) -> str:
        low, high = self.windows[name]
        stack = ", ".join(f"{{{part}}}" if ":" in part else part for part in STACKS[name])
        return (
            f"    {name}: {{window: {low / 1000} to {high / 1000}, space: r, "
            f"readings: {{r: room}}, stack: [{stack}]}}\n"
        )

    def _listed(self) -> str:
        listed: dict[str, list[str]] = {"shim": ["x: 0"]}
        for (family, size), count in self.kit.items():
            listed.setdefault(family, []).append(f'"{size}": {count}' if size else str(count))
        listed["shim"] = [one for one in listed["shim"] if one != "x: 0"] or ["x: 0"]
        return "".join(
            f"    {name}: {texts[0]}\n" if name == "friction" else
            f"    {name}: {{{', '.join(texts)}}}\n"
            for name, texts in listed.items()
        )  # fmt: skip

    def fillings(self, name: str, kit: Counter[Part]) -> Iterator[Counter[Part]]:
        """Everything that a kit can fill a gap with, whatever it leaves."""
        choices = [
            [
                Counter((family, size) for size in sizes)
                for count in range(least, most + 1)
                for sizes in combinations_with_replacement(SIZES[family], count)
            ]
            for family, least, most in GROUPS[name]
        ]
        for groups in product(*choices):
            drawn = sum(groups, Counter[Part]())
            if drawn <= kit:
                yield drawn

    def serves(self, name: str, room: Fraction, kit: Counter[Part] | None = None) -> bool:
        """Whether the kit alone lands a gap of so much room."""
        low, high = self.windows[name]
        of = self.kit if kit is None else kit
        return any(
            low <= room - FIXED[name] - thick(drawn) <= high for drawn in self.fillings(name, of)
        )

    @cached_property
    def fits(self) -> bool:
        """Whether the kit lands every gap of the job together."""
        landing = [
            [d for d in self.fillings(name, self.kit)
             if self.windows[name][0] <= room - FIXED[name] - thick(d) <= self.windows[name][1]]
            for name, room in self.rooms.items()
        ]  # fmt: skip
        return any(sum(drawn, Counter[Part]()) <= self.kit for drawn in product(*landing))


def thick(drawn: Counter[Part]) -> int:
    """What some parts take, in microns."""
    return sum(SIZES[family][size] * count for (family, size), count in drawn.items())


def mm(sizes: dict[str, int]) -> str:
    """Sizes as a file has them."""
    return ", ".join(f'"{size}": {microns / 1000}' for size, microns in sizes.items())
