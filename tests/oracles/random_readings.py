"""The readings of a random job, worked out from the parts that are planted as its answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tests.oracles.random_parts import FRICTION, mm

if TYPE_CHECKING:
    from tests.oracles.random_parts import PartMaker, Spec
    from tests.oracles.random_stacks import Stack

Parts = tuple[tuple[str, int], ...]
"""What lies at one place: sizes with their thickness."""


@dataclass(slots=True)
class Gap:
    """One gap in the making."""

    name: str
    pack: bool
    stacks: dict[str, Stack]
    planted: str
    spec: Spec = field(default_factory=dict)
    work: Spec = field(default_factory=dict)
    parts: list[Parts] = field(default_factory=list)
    """The planted parts: at each place, size and thickness."""

    @property
    def stack(self) -> Stack:
        return self.stacks[self.planted]


class ReadingMaker:
    """Works out spaces and writes them as readings, and notes the roads they take."""

    def __init__(self, maker: PartMaker) -> None:
        self.maker = maker
        self.rng = maker.rng
        self.chance = maker.chance
        self.roads = maker.roads
        self.friction = FRICTION - 20 if self.chance(0.1, "fixed part measured") else FRICTION
        self.gasket = self.rng.randrange(200, 600) if self.chance(0.25) else None

    def _height(self, stack: Stack, parts: list[Parts]) -> Fraction:
        total = Fraction(self.friction * stack.frictions)
        for place, here in zip(stack.chosen, parts, strict=True):
            total += Fraction(place.factor) * sum(thickness for _, thickness in here)
        return total

    def space(self, gap: Gap) -> None:
        """Work the readings out from the planted parts, and sometimes move them."""
        window = gap.stack.window
        target = self.rng.choice([window.low, window.high, *[window.inside(self.rng)] * 8])
        if not self.maker.rivals and self.chance(0.25, "reading moved"):
            target += self.rng.choice([-1, 1]) * self.rng.randrange(50, 500, 10)
        sign = -1 if window.height else 1
        space = target + sign * self._height(gap.stack, gap.parts) - gap.stack.extra
        if self.gasket is not None and self.chance(0.7, "shared reading"):
            gap.spec["space"] = self._formula(gap, int(space) - self.gasket) + " + gasket"
        else:
            gap.spec["space"] = self._formula(gap, int(space))

    def _formula(self, gap: Gap, space: int) -> str:
        ways = ["depth", "less", "half"] + ["trial"] * (not self.maker.rivals)
        style = self.rng.choice(ways)
        if style == "trial":
            return self._trial(gap, space)
        if style == "half" or space < 0:
            self.roads.add("half a reading")
            base = self.rng.randrange(2_000, 9_001, 2)
            self._reading(gap, "offset", space - base // 2, exact=True)
            self._reading(gap, "base", base)
            return "base/2 + offset"
        edge = self.rng.randrange(500, 3_000)
        if style == "less":
            self._reading(gap, "edge", edge, exact=True)
        self._reading(gap, "depth", space + (edge if style == "less" else 0))
        return "depth - edge" if style == "less" else "depth"

    def _trial(self, gap: Gap, space: int) -> str:
        """State the space as trial stack + gap."""
        self.roads.add("trial build")
        parts = [p if self.chance(0.5) else self._other(n, gap, p) for n, p in enumerate(gap.parts)]
        texts: list[Any] = []
        for place, here in zip(gap.stack.chosen, parts, strict=True):
            written = [f"{size} {mm(thickness)[:-3]}" for size, thickness in here]
            texts.append(written if place.stacked else written[0])
        gap.work["trial"] = {"layout": gap.planted, "parts": texts}
        left = space - int(self._height(gap.stack, parts))
        self._reading(gap, "gap", left)
        return "trial stack + gap"

    def _other(self, nth: int, gap: Gap, parts: Parts) -> Parts:
        place = gap.stack.chosen[nth]
        if place.shared:
            return parts
        family = self.maker.family(place.family)
        size = self.rng.choice([*family.nominals])
        return tuple((size, family.nominals[size]) for _ in parts)

    def _reading(self, gap: Gap, name: str, value: int, *, exact: bool = False) -> None:
        gap.spec.setdefault("readings", {})[name] = {
            "what": name,
            "signed": "yes" if value < 20 else "no",
        }
        at: Any = mm(value)
        if not exact and self.chance(0.25, "averaged"):
            spread = self.rng.choice([(-2, 0, 3), (0, 1), (-4, 4), (5, -3, -1)])
            at = [mm(value + off) for off in spread]
        gap.work.setdefault("readings", {})[name] = at
