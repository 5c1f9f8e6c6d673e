"""Finds the cheapest kit that serves enough drums, all gaps of a drum together, proved by CP-SAT.

A drum is served where each block of its gaps is. A block is served where the kit holds one of the
few sets of parts that its gaps can draw together; these conditions are over the packs that are
bought. A block with too many such sets is decided gap by gap: the patterns chosen for one drum may
draw together no more than the kit holds. A kit serves one drum: the next drum has a kit of its own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from solver.engines.cp_sat import Program
from solver.engines.descent import descend, one_by_one
from solver.engines.expressions import CONSTANT, add, scale, value_of
from solver.engines.limits import Clock, Limits
from solver.problem.shared_parts import agree, drawn_by, drawn_together
from solver.stock.demand_patterns import most_of, servable, served
from solver.stock.joint_demand import joined
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from solver.engines.expressions import Expression
    from solver.problem.shared_parts import Draw, Held, Uses
    from solver.stock.demand_patterns import Drum

MOST_POINTS = 12  # of a frontier


@dataclass(frozen=True, slots=True)
class Offer:
    """The price and pack of one size."""

    price: int
    """Of one part, in ten-thousandths of the currency."""
    sold_in: int
    """The number of parts sold together."""


@dataclass(frozen=True, slots=True)
class ChosenKit:
    """The contents of a kit, its cost, and the number of drums it serves."""

    contents: dict[int, int]
    """For each choice, the number of parts."""
    cost: int
    served: int
    at_least: int
    """A proved lower bound on the cost of a kit that serves as many drums as were asked for."""

    @property
    def proved(self) -> bool:
        """Whether it is proved that no cheaper kit serves as many drums as were asked for."""
        return self.at_least == self.cost


@dataclass(frozen=True, slots=True)
class PackWorth:
    """The change in drums served by one pack more and by one pack less of a size."""

    choice: int
    more: int
    """The number of drums that a further pack would serve."""
    less: int
    """The number of drums lost with one pack; 0 where the kit holds none."""


class Kits:
    """Finds kits for one history of drums, whose joint draws are worked out once.

    Parameters
    ----------
    drums
        Kinds of drum, each with the number of drums of that kind, as `drums_of` counts them.
    offers
        For each choice, its price and pack.
    """

    def __init__(self, drums: Mapping[Drum, int], offers: Mapping[int, Offer]) -> None:
        self.drums, self.offers = drums, offers

    @cached_property
    def able(self) -> int:
        """The number of drums that some kit serves."""
        return servable(self.drums)

    @cached_property
    def _needs(self) -> Counter[tuple[Drum, ...]]:
        return joined(self.drums)

    def cheapest(self, wanted: int, clock: Clock | None = None) -> ChosenKit | None:
        """Find the cheapest kit that serves enough drums; of equal cost the one that serves most.

        Parameters
        ----------
        wanted
            The least number of drums to serve.
        clock
            The time that is left; that of `Limits` unless stated.

        Returns
        -------
        ChosenKit, or None
            None where no kit serves so many, or none was found in time.

        Raises
        ------
        JudgeError
            Where the engine's kit, counted in integers, does not cost or serve what it should.
        """
        clock = clock or Clock(Limits())
        choosing = _Choosing(self._needs, self.offers, wanted)
        at_least = sum(self._blocks_alone(choosing, wanted, clock))
        goals = one_by_one(choosing.cost, scale(choosing.served, -1))
        found = descend(choosing.program, goals, clock)
        if not found.reached:
            return None
        at_least = max(at_least, found.reached[0].bound)
        cost = found.reached[0].value
        contents = {c: value_of(held, found.values) for c, held in choosing.held.items()}
        number = served(self.drums, contents)
        kit = ChosenKit({c: n for c, n in contents.items() if n}, cost, number, at_least)
        if kit.served < wanted or cost_of(kit.contents, self.offers) != cost:
            raise JudgeError(f"the engine's kit costs {cost} and is said to serve {wanted}: {kit}")
        return kit

    def _blocks_alone(self, choosing: _Choosing, wanted: int, clock: Clock) -> Iterator[int]:
        """Yield a lower bound on the cost of each block by itself, and add it to the program.

        The bound assumes that all other blocks are served. It is valid because a drum that is
        served is served in each block, and no part belongs to two blocks.
        """
        blocks = max(map(len, self._needs), default=0)
        for nth in range(blocks) if blocks > 1 else ():
            alone: Counter[tuple[Drum, ...]] = Counter()
            for needed, count in self._needs.items():
                alone[needed[nth : nth + 1]] += count
            block = _Choosing(alone, self.offers, wanted)
            while_there_is_time = Clock(replace(clock.limits, seconds=clock.left / 4 / blocks))
            bound = max(0, block.program.least(block.cost, while_there_is_time).bound)
            choosing.cost_at_least(block.held, bound)
            yield bound

    def frontier(self, least: int, clock: Clock) -> list[ChosenKit]:
        """List the cheapest kits for rising numbers of drums, each serving more than the last.

        The numbers, at most MOST_POINTS, are evenly spread; the last is the most that any kit can
        serve. The search goes down from that one, because kits for few drums leave more to choose.

        Parameters
        ----------
        least
            The number of drums above which to begin.
        clock
            The time that is left, shared out evenly over the kits.

        Returns
        -------
        list of ChosenKit
            In rising order. A kit that is not proved has a bound on the cost.
        """
        found: list[ChosenKit] = []
        for nth in range(MOST_POINTS, 0, -1):
            wanted = least + (self.able - least) * nth // MOST_POINTS
            part = Clock(replace(clock.limits, seconds=clock.left / nth))
            kit = self.cheapest(wanted, part) if part.left else None
            if kit is not None and (not found or kit.cost < found[-1].cost):
                found.append(kit)
        return found[::-1]

    def worths(self, kit: ChosenKit) -> list[PackWorth]:
        """Count the drums gained by one pack more, and lost by one less, of each size.

        Only sizes that some drum could take are included.
        """
        found = []
        for choice in sorted(_most(self.drums)):
            pack, held = self.offers[choice].sold_in, kit.contents.get(choice, 0)
            more = served(self.drums, {**kit.contents, choice: held + pack}) - kit.served
            fewer = {**kit.contents, choice: held - pack}
            less = kit.served - served(self.drums, fewer) if held else 0
            found.append(PackWorth(choice, more, less))
        return found


def cost_of(contents: Mapping[int, int], offers: Mapping[int, Offer]) -> int:
    """Return the cost of a kit's contents in ten-thousandths of the currency, in whole packs."""
    return sum(
        -(-count // offers[choice].sold_in) * offers[choice].sold_in * offers[choice].price
        for choice, count in contents.items()
    )


class _Choosing:
    """The integer program of one kit."""

    def __init__(
        self, needs: Mapping[tuple[Drum, ...], int], offers: Mapping[int, Offer], wanted: int
    ) -> None:
        self.program = Program(conditions=True)
        self._offers = offers
        self._packs: dict[int, list[int]] = {}
        """For each choice, booleans: whether the kit holds a first pack, a second, and so on."""
        self.held: dict[int, Expression] = {}
        self.cost: Expression = {CONSTANT: 0}
        blocks = dict.fromkeys(block for needed in needs for block in needed)
        for choice, count in sorted(_most(blocks).items()):
            self._choice(choice, count)
        self._whether: dict[Draw, int] = {}
        fits = {block: self._block(block) for block in blocks}
        self.served: Expression = {}
        for needed, count in needs.items():
            self.served[self._all({fits[block] for block in needed})] = count
        self.program.row(self.served, wanted, None)

    def cost_at_least(self, choices: Iterable[int], bound: int) -> None:
        """Add a proved lower bound on the cost of the packs of some choices."""
        packs = [pack for choice in choices for pack in self._packs[choice]]
        self.program.row({pack: self.cost[pack] for pack in packs}, bound, None)

    def _choice(self, choice: int, count: int) -> None:
        offer = self._offers[choice]
        packs = [self.program.boolean() for _ in range(-(-count // offer.sold_in))]
        for one, next_one in pairwise(packs):
            self.program.row({one: 1, next_one: -1}, 0, None)
        self._packs[choice] = packs
        self.held[choice] = dict.fromkeys(packs, offer.sold_in)
        self.cost.update(dict.fromkeys(packs, offer.price * offer.sold_in))

    def _all(self, conditions: set[int]) -> int:
        """Return a boolean that may be true only where all the conditions are."""
        if len(conditions) == 1:
            return next(iter(conditions))
        together = self.program.boolean()
        for condition in sorted(conditions):
            self.program.row({condition: 1, together: -1}, 0, None)
        return together

    def _block(self, block: Drum) -> int:
        """Return a boolean that may be true only where a block of gaps is served."""
        if len(block) > 1 or any(draw.shares for draw in block[0]):
            return self._gap_by_gap(block)
        fits = self.program.boolean()
        if all(draw.parts for draw in block[0]):
            ways = {self._is_held(draw) for draw in block[0]}
            self.program.row({**dict.fromkeys(sorted(ways), 1), fits: -1}, 0, None)
        return fits

    def _is_held(self, draw: Draw) -> int:
        """Return a boolean that may be true only where the kit holds all parts of a draw."""
        if draw not in self._whether:
            packs = {
                self._packs[choice][(count - 1) // self._offers[choice].sold_in]
                for choice, count in draw.parts
            }
            self._whether[draw] = self._all(packs)
        return self._whether[draw]

    def _gap_by_gap(self, drum: Drum) -> int:
        """Return a boolean that may be true only where the kit holds one draw for every gap."""
        fits = self.program.boolean()
        gaps: list[tuple[Uses, Held]] = []
        for ways in drum:
            chosen = [self.program.boolean() for _ in ways]
            self.program.row({fits: -1, **dict.fromkeys(chosen, 1)}, 0, 0)
            gaps.append(drawn_by(chosen, ways))
        held = agree(self.program, (shares for _, shares in gaps), {CONSTANT: 1})
        for choice, number in drawn_together((uses for uses, _ in gaps), held).items():
            self.program.row(add(number, scale(self.held[choice], -1)), None, 0)
        return fits


def _most(drums: Iterable[Drum]) -> Counter[int]:
    """Return for each choice the most parts that any kit needs."""
    most: Counter[int] = Counter()
    for drum in drums:
        most |= most_of(drum)
    return most
