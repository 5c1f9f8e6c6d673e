"""Random stacks and windows, and the readings that a planted answer makes of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING, Any

from tests.oracles.random_parts import FRICTION, Spec, mm

if TYPE_CHECKING:
    from tests.oracles.random_parts import PartMaker, Spec


@dataclass(slots=True)
class Window:
    """A window, its ends in thousandths of a millimetre."""

    low: int
    high: int
    open_end: str = ""
    aim: str = "middle"
    nearest: bool = False
    height: bool = False

    def inside(self, rng: Random) -> int:
        """A gap within."""
        return rng.randrange(self.low, self.high + 1, 10) if self.high > self.low else self.low

    def written(self) -> Spec:
        """Write it out."""
        span = {"low": f"at most {mm(self.high)}", "high": f"at least {mm(self.low)}"}
        both = f"{mm(self.low)} to {mm(self.high)}"
        spec: Spec = {"gap": span.get(self.open_end, both), "aim": self.aim}
        if self.open_end or self.high == self.low:
            spec["scale"] = mm(200)
        if self.nearest:
            spec["nearest"] = "yes"
        return spec | ({"on": "height"} if self.height else {})


@dataclass(slots=True)
class Place:
    """A place whose part is chosen."""

    part: str
    family: str
    shared: bool = False
    least: int = 1
    most: int = 1
    factor: str = "1"
    only: list[str] = field(default_factory=list)
    more: Spec = field(default_factory=dict)

    @property
    def stacked(self) -> bool:
        return (self.least, self.most) != (1, 1)

    def written(self) -> Spec:
        """Write it out."""
        spec: Spec = {"part": self.part, "factor": self.factor} | self.more
        if self.only:
            spec["only"] = self.only
        return spec | ({"how many": f"{self.least} to {self.most}"} if self.stacked else {})


@dataclass(slots=True)
class Stack:
    """The places of one layout; frictions lie between the chosen ones where asked."""

    chosen: list[Place]
    window: Window
    frictions: int = 0
    extra: int = 0
    """What its own space adds to the gap's."""

    def labels(self) -> list[str]:
        """The names of the chosen places: the part's, numbered where it occurs again."""
        parts = [place.part for place in self.chosen if "name" not in place.more]
        seen: dict[str, int] = {}
        labels = []
        for place in self.chosen:
            named = place.more.get("name")
            seen[place.part] = seen.get(place.part, 0) + (named is None)
            number = f" {seen[place.part]}" if parts.count(place.part) > 1 else ""
            labels.append(named or place.part + number)
        return labels

    def written(self, rng: Random, *, plain: bool) -> Spec:
        """Write the stack with its window."""
        places: list[Any] = []
        left = self.frictions
        for place in self.chosen:
            if left and place.family in ("steel", "plate"):
                places.append("friction")
                left -= 1
            plain_place = rng.random() < 0.5 and place == Place(
                place.part, place.family, place.shared
            )
            places.append(place.part if plain_place else place.written())
        spec: Spec = {"stack": places, "window": self.window.written()}
        return spec if plain else spec | {"smooth faces may meet": "yes"}


class StackMaker:
    """Draws stacks, and notes the roads they take."""

    def __init__(self, maker: PartMaker, *, steels: int, gaps: int) -> None:
        self.maker = maker
        self.rng = maker.rng
        self.chance = maker.chance
        self.steels = steels
        self.shared: Spec = {}
        self.joint = gaps > 1 and not maker.rivals and self.chance(0.5, "shared part")

    def stack(self, name: str, *, several: bool, pack: bool) -> Stack:
        """Draw one arrangement of a gap."""
        chosen = self._pack(several=several) if pack else self._end_play()
        if self.maker.rivals:
            chosen = [place for place in chosen if place.family in ("steel", "shim")][:2]
            chosen.append(self._place("washer"))
        if self.joint and (name != "high drum" or self.chance(0.5)):
            chosen.append(self._joint())
        if not chosen:
            chosen.append(self._place("ring" if pack else "washer"))
        for place in chosen:
            self._vary(place)
        steels = sum(place.family in ("steel", "plate") for place in chosen)
        window = self._window()
        extra = 0
        if several and self.chance(0.2, "layout with its own space"):
            extra = self.rng.choice([50, 100])
        return Stack(chosen, window, steels, extra)

    def _pack(self, *, several: bool) -> list[Place]:
        most = self.steels - several
        chosen = [self._place("steel") for _ in range(self.rng.randint(0, most))]
        if self.chance(0.15, "two steel families"):
            chosen.append(self._place("plate"))
        if self.chance(0.6):
            chosen.append(self._place("ring"))
        if self.chance(0.12):
            chosen = [self._lever() for _ in range(self.rng.choice([1, 1, 2]))] + chosen
        if self.chance(0.12):
            chosen.append(self._shims())
        return chosen

    def _end_play(self) -> list[Place]:
        chosen = [self._place("washer")] if self.chance(0.6) else []
        if self.chance(0.35):
            chosen += [self._lever() for _ in range(self.rng.choice([1, 1, 2]))]
        if self.chance(0.45):
            chosen.insert(0, self._shims())
        return chosen

    def _place(self, family: str) -> Place:
        return Place(family, family)

    def _shims(self) -> Place:
        self.maker.roads.add("shims")
        least = self.rng.choice([0, 0, 0, 1])
        return Place("shim", "shim", least=least, most=max(1, least + self.rng.choice([0, 1, 2])))

    def _lever(self) -> Place:
        self.maker.roads.add("factors")
        factor = self.rng.choice(["-1", "0", "1/2", "1/3", "-0.5", "3/2"])
        return Place("lever", "lever", factor=factor)

    def _joint(self) -> Place:
        spec = self.shared.setdefault("joint", {"family": "washer"})
        if "only" not in spec and self.chance(0.15, "only"):
            spec["only"] = self.rng.sample([*self.maker.family("washer").nominals], 2)
        if self.chance(0.3, "reach of a shared part"):
            spec["reach"] = self.rng.choice([0, 3])
        factor = self.rng.choice(["1", "1", "1", "-1", "1/2"])
        return Place("joint", "washer", shared=True, factor=factor, only=[])

    def _vary(self, place: Place) -> None:
        family = self.maker.family(place.family)
        if not place.shared and self.chance(0.12, "only"):
            sizes: Spec = family.spec["sizes"]
            names = [*sizes, *(s["grade"] for s in sizes.values() if "grade" in s)]
            place.only = self.rng.sample(names, self.rng.randint(1, 2) if len(names) > 1 else 1)
        if place.family == "ring" and self.chance(0.3, "groove"):
            most = self.rng.choice([1_600, 1_605, 1_900])
            place.more["groove"] = f"{mm(1_490)} to {mm(most)}"
        if not place.shared and self.chance(0.15):
            place.more["reach"] = self.rng.choice([0, 3])

    def _window(self) -> Window:
        low = self.rng.choice([100, 200, 450])
        if self.chance(0.12, "preload"):
            low = -300
        widths = [50] if self.maker.rivals else [50, 100, 150, 200, 230]
        window = Window(low, low + self.rng.choice(widths))
        aim = self.rng.choice(["middle", "middle", "tight", "loose", "value"])
        if self.chance(0.08, "no width"):
            window.high = window.low
        elif self.chance(0.12, "one-sided"):
            window.open_end = self.rng.choice(["low", "high"])
            aim = {"low": "loose", "high": "tight"}[window.open_end]
            aim = self.rng.choice([aim, "value"])
        if aim == "value":
            aim = mm(window.inside(self.rng))
        window.aim = aim
        window.nearest = self.chance(0.15, "nearest")
        window.height = self.chance(0.12, "on the height")
        self.maker.roads.add("aim " + (aim if aim in ("middle", "tight", "loose") else "value"))
        return window


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
        apart = Random(f"{gap.name} {space} {texts}")  # noqa: S311 - draws nothing of the others'
        self._leave_out(gap, parts, texts, apart)
        left = space - int(self._height(gap.stack, parts))
        self._reading(gap, "gap", left)
        if left < 0 and apart.random() < 0.7:
            self.roads.add("proud")
            gap.spec["readings"]["gap"]["signed"] = "no"
            gap.work["readings"]["gap"] = {"proud": mm(-left)}
        return "trial stack + gap"

    def _leave_out(self, gap: Gap, parts: list[Parts], texts: list[Any], rng: Random) -> None:
        """Leave a place of the trial build empty."""
        single = [n for n, place in enumerate(gap.stack.chosen) if not place.stacked]
        if single and rng.random() < 0.25:
            self.roads.add("left out")
            nth = rng.choice(single)
            parts[nth], texts[nth] = (), "left out"

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
