"""Kits and shelves of small units by brute force: what can be built of them, tried one by one."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import product
from random import Random
from typing import TYPE_CHECKING

from solver.problem.shared_parts import Draw
from solver.stock.kit import Offer
from specs.files.history import History
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.varied_reading import move_space
from specs.values.lengths import Length
from tests.oracles.brute_force import Brute

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from solver.stock.demand_patterns import Drum
    from solver.stock.shelf.demand import Scenario
    from specs.models.case import Case
    from tests.oracles.brute_force import Assignment

Row = tuple[Length | None, ...]
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

    def _drum(self, names: tuple[str, ...]) -> Row:
        steel, ring, other, hub = (
            self.rng.choice([*SIZES[family].values()])
            for family in ("steel", "ring", "ring", "hub")
        )
        room = {"low": steel + ring, "high": other, "front": hub, "rear": other - hub}
        low = {"low": 200, "high": 200, "front": 100, "rear": 100}
        above = (-150, 0, 100, 100, 100, 100, 150)
        return tuple(
            Length(1000 * (room[name] + low[name] + self.rng.choice(above))) for name in names
        )

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
        """How many drums a kit serves, every gap clear of its limits."""
        return sum(
            n for draws, n in self.drums if any(clear and draw <= kit for draw, clear in draws)
        )

    def only_to_limit(self, kit: Counter[Part]) -> int:
        """How many it serves besides, but only up to the limit."""
        fits = sum(n for draws, n in self.drums if any(draw <= kit for draw, _ in draws))
        return fits - self.served(kit)

    @cached_property
    def drums(self) -> list[tuple[list[tuple[Counter[Part], bool]], int]]:
        """For each drum what each build that fits draws, whether clear, and its number."""
        return [([*self._draws(row)], count) for row, count in self.history.rows.items()]

    def _draws(self, row: Row) -> Iterator[tuple[Counter[Part], bool]]:
        brute = self._brute(row, Counter(dict.fromkeys(self.prices, 3)))
        for together in product(*map(brute.fillings, brute.gaps)):
            if brute.worth(together) is not None:
                yield self._drawn(brute, together), brute.keeps_clear(together)

    def built(self, row: Row, stock: Counter[Part]) -> tuple[Counter[Part], bool] | None:
        """What a drum takes of a stock as `fit` builds it, and whether clear of its limits."""
        brute = self._brute(row, stock)
        best = brute.best_assignment()
        return best and (self._drawn(brute, best[1]), brute.keeps_clear(best[1]))

    def _brute(self, row: Row, stock: Counter[Part]) -> Brute:
        """A drum with the given parts on hand."""
        shelf = "".join(
            f"  {family}: {{{', '.join(f'{size!r}: {stock[family, size]}' for size in sizes)}}}\n"
            for family, sizes in SIZES.items()
        )
        text = f"{self.unit}shelf:\n{shelf}"
        case = case_of(parse(text, "unit.yaml"), needs=("unit", "shelf"))
        for gap, length in zip(self.history.columns, row, strict=True):
            case = move_space(case, gap).at(length or Length(0))
        return Brute(case, tuple(gap for gap in case.unit.gaps if gap in self.history.columns))

    def _drawn(self, brute: Brute, together: Assignment) -> Counter[Part]:
        """What a build draws, a shared part once."""
        held = {name: kind for filling in together for name, kind in filling.shares.items()}
        drawn = Counter(held.values())
        for filling in together:
            drawn += filling.uses
        kinds = brute.kinds
        return Counter({(kinds[kind].family, kinds[kind].size): n for kind, n in drawn.items()})


class Cycles:
    """Some kinds of job that draw on four sizes, prices, and a few cycles of jobs."""

    def __init__(self, seed: int) -> None:
        self.rng = rng = Random(seed)  # noqa: S311 - no secret hangs on it
        self.shared = rng.random() < 0.4
        self.drums: tuple[Drum, ...] = tuple(self._drum() for _ in range(4))
        self.offers = {c: Offer(rng.choice([1, 2, 3, 5]), rng.choice([1, 1, 2])) for c in range(4)}
        self.scenarios: tuple[Scenario, ...] = tuple(
            tuple((kind, rng.randint(1, 2)) for kind in sorted(rng.sample(range(4), 2)))
            for _ in range(rng.randint(1, 4))
        )

    def _drum(self) -> Drum:
        gaps = []
        for _ in range(self.rng.choice([1, 1, 2])):
            ways = {self._draw() for _ in range(self.rng.randint(1, 3))}
            gaps.append(tuple(sorted(ways)))
        if self.rng.random() < 0.1:
            gaps[0] = ()
        return tuple(gaps)

    def _draw(self) -> Draw:
        shares = ((0, self.rng.randrange(2)),) if self.shared and self.rng.random() < 0.5 else ()
        parts = {self.rng.randrange(4): self.rng.choice([1, 1, 2])}
        return Draw(tuple(parts.items()), shares)

    def shelves(self, most: int) -> Iterator[dict[int, int]]:
        """Every shelf of whole packs with so many of each at most."""
        numbers = [range(0, most + 1, self.offers[choice].sold_in) for choice in range(4)]
        for levels in product(*numbers):
            yield dict(enumerate(levels))

    def price(self, levels: Mapping[int, int]) -> int:
        return sum(self.offers[choice].price * number for choice, number in levels.items())

    def served(self, levels: Mapping[int, int]) -> int:
        """Jobs of all cycles that can be built, each cycle with all its jobs in view."""
        return self.worth(levels, 1, (0, 0, 0, 0))

    def cost(self, levels: Mapping[int, int], waiting: int, keeping: tuple[int, ...]) -> int:
        """What waiting and keeping cost at least, over all cycles."""
        jobs = sum(n for one in self.scenarios for _, n in one)
        kept = sum(keeping[choice] * number for choice, number in levels.items())
        worth = self.worth(levels, waiting, keeping)
        return jobs * waiting + kept * len(self.scenarios) - worth

    def worth(self, levels: Mapping[int, int], waiting: int, keeping: tuple[int, ...]) -> int:
        """What the jobs built save at most: each what waiting costs, and its parts' keeping."""
        left = tuple(levels.get(choice, 0) for choice in range(4))
        return sum(
            self._most(tuple(k for k, n in one for _ in range(n)), left, waiting, keeping)
            for one in self.scenarios
        )

    @cache  # noqa: B019 - a test's own
    def _most(
        self, jobs: tuple[int, ...], left: tuple[int, ...], waiting: int, keeping: tuple[int, ...]
    ) -> int:
        """What the jobs save at most that are built of what is left."""
        if not jobs:
            return 0
        best = self._most(jobs[1:], left, waiting, keeping)
        for parts in self._ways(jobs[0]):
            after = tuple(n - parts.get(c, 0) for c, n in enumerate(left))
            if min(after) >= 0:
                saved = waiting + sum(keeping[c] * n for c, n in parts.items())
                best = max(best, saved + self._most(jobs[1:], after, waiting, keeping))
        return best

    def _ways(self, kind: int) -> Iterator[dict[int, int]]:
        """All that the draws of a job may take; a shared part is one part."""
        for draws in product(*self.drums[kind]):
            shared = {share for draw in draws for share in draw.shares}
            if len({part for part, _ in shared}) == len(shared):
                taken = [part for draw in draws for part in draw.parts]
                taken += [(choice, 1) for _, choice in shared]
                yield {c: sum(n for one, n in taken if one == c) for c, _ in taken}
