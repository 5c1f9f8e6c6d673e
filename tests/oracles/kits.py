"""Small units with prices and histories of a few drums, and what brute force says of their kits."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from random import Random
from typing import TYPE_CHECKING

from specs.files.history import History
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.varied_reading import move_space
from specs.values.lengths import Length
from tests.oracles.brute import Brute

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.case import Case

Part = tuple[str, str]
SIZES = {
    "steel": {"thick": 2000, "thin": 1600},
    "ring": {"A": 1500, "B": 1800, "C": 2100},
    "hub": {"1": 1000, "2": 1300},
}
"""In thousandths of a millimetre."""
MOST = {"steel": 1, "ring": 2, "hub": 1}
ROOM = "space: r, readings: {r: room}"
PACKS = f"""\
  packs:
    low: {{window: 0.2 to 0.5, {ROOM}, stack: [steel, ring]}}
    high: {{window: 0.2 to 0.4, {ROOM}, stack: [ring]}}
"""
PLAYS = f"""\
  shared parts: {{drum hub: hub}}
  end plays:
    front: {{window: 0.1 to 0.4, {ROOM}, stack: [drum hub]}}
    rear: {{window: 0.1 to 0.3, {ROOM}, stack: [{{part: drum hub, factor: -1}}, ring]}}
"""
RULE = "  rules: [{with: steel/thin, never: ring/A, in: low}]\n"


@dataclass
class KitJob:
    """A unit, its prices, and drums of which most are planted: some build fits them."""

    seed: int
    roads: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.rng = rng = Random(self.seed)  # noqa: S311 - no secret hangs on it
        parts = [(family, size) for family, sizes in SIZES.items() for size in sizes]
        self.prices: dict[Part, int] = {part: rng.choice([1, 2, 3, 5]) for part in parts}
        self.sold_in = dict.fromkeys(parts, 1)
        if self._road("sold together", 0.4):
            self.sold_in["ring", "A"] = 2
        self.shared = self._road("shared part", 0.4)
        self.rule = self._road("rule", 0.4)
        names = ("low", "front", "rear") if self.shared else ("low", "high")
        drums = Counter(self._drum(names) for _ in range(rng.randint(3, 6)))
        self.history = History("past.csv", names, drums + Counter(list(drums)[:2]))

    def _road(self, name: str, chance: float) -> bool:
        taken = self.rng.random() < chance
        self.roads |= {name} if taken else set()
        return taken

    def _drum(self, names: tuple[str, ...]) -> tuple[Length | None, ...]:
        steel, ring, other, hub = (
            self.rng.choice([*SIZES[family].values()])
            for family in ("steel", "ring", "ring", "hub")
        )
        room = {"low": steel + ring, "high": other, "front": hub, "rear": other - hub}
        off = (50, 150, 200, 250, 300, 400, 700)
        return tuple(Length(1000 * (room[name] + self.rng.choice(off))) for name in names)

    @property
    def unit(self) -> str:
        """The unit as a person would write it."""
        families = "".join(self._family(name, sizes) for name, sizes in SIZES.items())
        plays = PLAYS if self.shared else ""
        rule = RULE if self.rule else ""
        return f"length: mm\nunit:\n  families:\n{families}{PACKS}{plays}{rule}"

    def _family(self, name: str, sizes: dict[str, int]) -> str:
        told = ", ".join(
            f"{size}: {{thickness: {microns / 1000}, price: {self.prices[name, size]}, "
            f"sold in: {self.sold_in[name, size]}}}"
            for size, microns in sizes.items()
        )
        kind = {"hub": "washer"}.get(name, name)
        return f"    {name}: {{kind: {kind}, sizes: {{{told}}}}}\n"

    def case(self) -> Case:
        """The unit as read."""
        return case_of(parse(self.unit, "unit.yaml"), needs=("unit",))

    def cost(self, kit: Counter[Part]) -> int:
        """What whole packs cost."""
        return sum(count * self.prices[part] for part, count in kit.items())

    def kits(self) -> Iterator[Counter[Part]]:
        """Every kit of whole packs with no more than one drum could take, a pack more at most."""
        numbers = [
            range(0, MOST[part[0]] + self.sold_in[part], self.sold_in[part]) for part in self.prices
        ]
        for counts in product(*numbers):
            yield Counter(dict(zip(self.prices, counts, strict=True)))

    def served(self, kit: Counter[Part]) -> int:
        """How many drums a kit serves."""
        return sum(n for draws, n in self.drums if any(draw <= kit for draw in draws))

    @cached_property
    def drums(self) -> list[tuple[list[Counter[Part]], int]]:
        """For each drum everything that a build which fits it draws, and how many drums it is."""
        return [([*self._draws(row)], count) for row, count in self.history.rows.items()]

    def _draws(self, row: tuple[Length | None, ...]) -> Iterator[Counter[Part]]:
        shelf = "".join(
            f"  {family}: {{{', '.join(f'{size}: 3' for size in map(repr, sizes))}}}\n"
            for family, sizes in SIZES.items()
        )
        text = f"{self.unit}shelf:\n{shelf}"
        case = case_of(parse(text, "unit.yaml"), needs=("unit", "shelf"))
        for gap, length in zip(self.history.columns, row, strict=True):
            case = move_space(case, gap).at(length or Length(0))
        brute = Brute(case, tuple(gap for gap in case.unit.gaps if gap in self.history.columns))
        for together in product(*map(brute.fillings, brute.gaps)):
            if brute.worth(together) is not None:
                held = {name: kind for filling in together for name, kind in filling.shares.items()}
                drawn = Counter(held.values())
                for filling in together:
                    drawn += filling.uses
                yield Counter(
                    {(brute.kinds[k].family, brute.kinds[k].size): n for k, n in drawn.items()}
                )
