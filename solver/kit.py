"""The cheapest kit that serves enough drums, all gaps of a drum together, proved by CP-SAT.

For each kind of drum it is decided whether it is served and, gap by gap, by which pattern; what
the patterns of one drum draw together is no more than the kit holds. A kit serves one drum: the
next drum has a kit of its own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.drums import servable, served
from solver.engine import CONSTANT, Clock, Limits, Program, add, scale, value_of
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from solver.drums import Drum
    from solver.engine import Expression

MOST_POINTS = 12  # of a frontier


@dataclass(frozen=True, slots=True)
class Offer:
    """How a size is sold."""

    price: int
    """Of one part, in ten-thousandths of the currency."""
    sold_in: int
    """How many are sold together."""


@dataclass(frozen=True, slots=True)
class Kit:
    """What is in a kit, what it costs, and how many drums it serves."""

    contents: dict[int, int]
    """How many of each choice."""
    cost: int
    served: int
    at_least: int
    """What a kit that serves as many is proved to cost at least."""

    @property
    def proved(self) -> bool:
        """Whether no cheaper kit serves as many drums as were asked for."""
        return self.at_least == self.cost


def cheapest_kit(
    drums: Mapping[Drum, int], offers: Mapping[int, Offer], wanted: int, clock: Clock | None = None
) -> Kit | None:
    """The cheapest kit that serves so many drums, and of equal cost the one that serves most.

    None where no kit does, or none was found in time. Raises JudgeError where what the engine
    says does not hold in plain integers.
    """
    clock = clock or Clock(Limits())
    choosing = _Choosing(drums, offers, wanted)
    outcome = choosing.program.least(choosing.cost, clock)
    if not outcome.values:
        return None
    at_least = outcome.bound
    cost = value_of(choosing.cost, outcome.values)
    if outcome.status == "optimal":
        choosing.program.row(choosing.cost, None, cost)
        most = choosing.program.least(scale(choosing.served, -1), clock)
        outcome = most if most.values else outcome
    contents = {c: value_of(held, outcome.values) for c, held in choosing.held.items()}
    kit = Kit({c: n for c, n in contents.items() if n}, cost, served(drums, contents), at_least)
    if kit.served < wanted or cost_of(kit.contents, offers) != cost:
        raise JudgeError(f"the engine's kit costs {cost} and is said to serve {wanted}: {kit}")
    return kit


def cost_of(contents: Mapping[int, int], offers: Mapping[int, Offer]) -> int:
    """What a kit costs, whole packs being bought."""
    return sum(
        -(-count // offers[choice].sold_in) * offers[choice].sold_in * offers[choice].price
        for choice, count in contents.items()
    )


class _Choosing:
    """The program of one kit."""

    def __init__(self, drums: Mapping[Drum, int], offers: Mapping[int, Offer], wanted: int) -> None:
        self.program = Program()
        self.held: dict[int, Expression] = {}
        self.cost: Expression = {CONSTANT: 0}
        most = _most(drums)
        for choice, count in sorted(most.items()):
            offer = offers[choice]
            packs = self.program.integer(0, -(-count // offer.sold_in))
            self.held[choice] = {packs: offer.sold_in}
            self.cost[packs] = offer.price * offer.sold_in
        self.served: Expression = {}
        for drum, count in drums.items():
            if all(drum):
                self.served[self._drum(drum)] = count
        self.program.row(self.served, wanted, None)

    def _drum(self, drum: Drum) -> int:
        """Whether a drum is served, with the rows that make it so."""
        fits = self.program.boolean()
        drawn: dict[int, list[Expression]] = {}
        shared: dict[tuple[int, int], list[Expression]] = {}
        for ways in drum:
            chosen = {draw: self.program.boolean() for draw in ways}
            self.program.row({fits: -1, **dict.fromkeys(chosen.values(), 1)}, 0, 0)
            for draw, taken in chosen.items():
                for choice, count in draw.parts:
                    drawn.setdefault(choice, []).append({taken: count})
                for one in draw.shares:
                    shared.setdefault(one, []).append({taken: 1})
        self._agree(shared, drawn)
        for choice, terms in drawn.items():
            self.program.row(add(*terms, scale(self.held[choice], -1)), None, 0)
        return fits

    def _agree(
        self, shared: dict[tuple[int, int], list[Expression]], drawn: dict[int, list[Expression]]
    ) -> None:
        """A shared part is one part: all gaps that hold it see the same."""
        by_part: dict[int, list[int]] = {}
        for (part, choice), terms in shared.items():
            is_it = self.program.boolean()
            by_part.setdefault(part, []).append(is_it)
            drawn.setdefault(choice, []).append({is_it: 1})
            for term in terms:
                self.program.row(add(term, {is_it: -1}), None, 0)
        for variables in by_part.values():
            self.program.row(dict.fromkeys(variables, 1), None, 1)


def _most(drums: Mapping[Drum, int]) -> dict[int, int]:
    """No kit needs more of a choice than this."""
    most: Counter[int] = Counter()
    for drum in drums:
        total: Counter[int] = Counter()
        for ways in drum:
            here: Counter[int] = Counter()
            for draw in ways:
                here |= Counter(dict(draw.parts))
            total += here
        total.update(choice for _, choice in {one for w in drum for d in w for one in d.shares})
        most |= total
    return dict(most)


def frontier(
    drums: Mapping[Drum, int], offers: Mapping[int, Offer], least: int, clock: Clock
) -> list[Kit]:
    """The cheapest kits from `least` drums on, each serving more than the one before.

    At most MOST_POINTS, evenly spread over the drums; the last serves as many as any kit can.
    """
    able = servable(drums)
    found: list[Kit] = []
    for nth in range(1, MOST_POINTS + 1):
        wanted = least + (able - least) * nth // MOST_POINTS
        if not found or found[-1].served < wanted:
            kit = cheapest_kit(drums, offers, wanted, clock)
            if kit is None:
                break
            found.append(kit)
    return found


@dataclass(frozen=True, slots=True)
class Worth:
    """What one pack more and one pack less of a size would do to the drums served."""

    choice: int
    more: int
    """How many drums more are served."""
    less: int
    """How many drums fewer; 0 where the kit holds none."""


def worths(drums: Mapping[Drum, int], offers: Mapping[int, Offer], kit: Kit) -> list[Worth]:
    """The worth of one pack more and one less of every size some drum could take."""
    found = []
    for choice in sorted(_most(drums)):
        pack, held = offers[choice].sold_in, kit.contents.get(choice, 0)
        more = served(drums, {**kit.contents, choice: held + pack}) - kit.served
        less = kit.served - served(drums, {**kit.contents, choice: held - pack}) if held else 0
        found.append(Worth(choice, more, less))
    return found
