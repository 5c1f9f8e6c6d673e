"""Goes through every build of a layout by dynamic programming, choice by choice.

After each choice, a state consists of the number of parts in each group of slots of the family, the
number taken of the current size, and the progress of the rules. Whatever else is known of a state
is a table that the caller extends. All costs are sums over parts but two. The scarcity of a size is
added after its last choice. The changes at a place, max(parts, parts now) less the parts that stay,
are added after its family.
"""

from __future__ import annotations

from itertools import product
from operator import add
from typing import TYPE_CHECKING, Generic, NamedTuple, Protocol, TypeVar

from solver.builds.enumeration import TooManyError
from solver.builds.slots import SlotMove, SlottedLayout
from solver.problem.instance import ChoiceRule, scarcity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sized

    from solver.builds.slots import Block, SlotGroup

T = TypeVar("T", bound="Sized")
MOST_ENTRIES = 500_000  # of all tables at once: a few seconds


class State(NamedTuple):
    """How far a layout is filled, as far as the choices to come depend on it."""

    filled: tuple[int, ...]
    """The number of parts in each group of the current family."""
    blocks: tuple[Block, ...]
    """The places in each group that the parts of the current deficit take."""
    taken: int
    """The number of parts of the current size."""
    met: tuple[int, ...]
    """For each rule the parts of its first and of its second kind, counted as far as matters."""
    looks: tuple[int, ...]
    """The number of parts of each size done, where builds are told apart."""


class Grow(Protocol[T]):
    """Merges a table, extended by a move, with the table that other moves have given."""

    def __call__(self, other: T | None, table: T, move: SlotMove) -> T:
        """Return both tables merged.

        Parameters
        ----------
        other
            The table of the new state so far; None where this move is the first to reach it.
        table
            The table of the state that the move starts from; it must not be changed.
        move
            The parts put in, and their cost.
        """


class DynamicProgram(Generic[T]):
    """Every build of one layout that stock and rules allow.

    Parameters
    ----------
    slotted
        The layout with its groups of slots.
    grow
        Merges the tables of states.
    apart
        Whether to tell apart the builds that a person could tell apart.
    """

    def __init__(self, slotted: SlottedLayout, grow: Grow[T], *, apart: bool) -> None:
        self.slotted = slotted
        self.grow = grow
        self.apart = apart
        self.rules = slotted.instance.rules

    def ends(self, start: T) -> dict[tuple[int, ...], T]:
        """Return the tables of full layouts.

        Parameters
        ----------
        start
            The table of an empty layout.

        Returns
        -------
        dict
            With `apart`, a table for each build that a person could tell from the others; its key
            is the number of parts of each size. Otherwise one table, with the empty key, or none.

        Raises
        ------
        TooManyError
            Where all tables together would have more than MOST_ENTRIES entries.
        """
        states = {State((), (), 0, (0, 0) * len(self.rules), ()): start}
        for family, groups in self.slotted.families.items():
            empty = (0,) * len(groups)
            states = {state._replace(filled=empty): table for state, table in states.items()}
            by_deficit = self.slotted.deficits(family)
            later = [choice for sizes in by_deficit for choices in sizes for choice in choices]
            for sizes in by_deficit:
                here = [choice for choices in sizes for choice in choices]
                later = later[len(here) :]
                states = dict(self._planned(states, groups, later))
                for choices in sizes:
                    for choice in choices:
                        here = here[1:]
                        to_come = [self._to_come(group, here, later) for group in groups]
                        states = self._placed(states, groups, choice, to_come)
                    states = self._sized(states, choices)
                states = self._reached(states, groups)
            states = self._closed(states, groups)
        ended: dict[tuple[int, ...], T] = {}
        for state, table in states.items():
            if all(map(ChoiceRule.met_by, self.rules, state.met[::2], state.met[1::2])):
                ended[state.looks] = self.grow(ended.get(state.looks), table, _cost(0))
        return ended

    def _stock(self, group: SlotGroup, choices: list[int]) -> int:
        """Return the number of parts of some choices that a group could take."""
        takes = group.places[0].takes
        return sum(
            self.slotted.instance.choices[choice].count for choice in choices if choice in takes
        )

    def _to_come(self, group: SlotGroup, here: list[int], later: list[int]) -> int:
        """Return the most parts that a group may still get: of this deficit, or of any."""
        return self._stock(group, here if group.in_blocks else here + later)

    def _planned(
        self, states: dict[State, T], groups: tuple[SlotGroup, ...], later: list[int]
    ) -> Iterator[tuple[State, T]]:
        """Choose the places that the parts of one deficit are to take, where that matters."""
        least = [group.least - self._stock(group, later) for group in groups]
        for state, table in states.items():
            options = [
                [(here, end) for end in range(max(here, few), group.most + 1)]
                if group.in_blocks
                else [(0, group.most)]
                for group, here, few in zip(groups, state.filled, least, strict=True)
            ]
            for blocks in product(*options):
                yield state._replace(blocks=blocks), table

    def _reached(self, states: dict[State, T], groups: tuple[SlotGroup, ...]) -> dict[State, T]:
        """Keep the states that have filled the places they were to take."""
        further: dict[State, T] = {}
        for state, table in states.items():
            filled = zip(groups, state.filled, state.blocks, strict=True)
            if all(here == end for group, here, (_, end) in filled if group.in_blocks):
                key = state._replace(blocks=())
                further[key] = self.grow(further.get(key), table, _cost(0))
        return further

    def _placed(
        self, states: dict[State, T], groups: tuple[SlotGroup, ...], choice: int, to_come: list[int]
    ) -> dict[State, T]:
        """Add any number of one choice, as long as the choices to come can fill every group."""
        further: dict[State, T] = {}
        for state, table in states.items():
            for move in self.slotted.moves(groups, choice, state.filled, state.blocks):
                filled = tuple(map(add, state.filled, move.parts))
                if not all(map(_may_fill, groups, state.blocks, filled, to_come)):
                    continue
                count = sum(move.parts)
                key = state._replace(
                    filled=filled,
                    taken=state.taken + count,
                    met=self._met(state.met, choice, count) if self.rules else (),
                )
                further[key] = self.grow(further.get(key), table, move)
        if sum(map(len, further.values())) > MOST_ENTRIES:
            raise TooManyError
        return further

    def _sized(self, states: dict[State, T], choices: tuple[int, ...]) -> dict[State, T]:
        """Add the scarcity of a size after the last of its choices."""
        on_hand = sum(self.slotted.instance.choices[choice].count for choice in choices)
        weight = self.slotted.scarcity
        further: dict[State, T] = {}
        for state, table in states.items():
            looks = (*state.looks, state.taken) if self.apart else ()
            key = state._replace(taken=0, looks=looks)
            cost = scarcity(on_hand, state.taken) * weight if weight else 0
            further[key] = self.grow(further.get(key), table, _cost(cost))
        return further

    def _closed(self, states: dict[State, T], groups: tuple[SlotGroup, ...]) -> dict[State, T]:
        """Keep the states in which every group holds enough, and add the changes of the family."""
        weight = self.slotted.changes
        further: dict[State, T] = {}
        for state, table in states.items():
            if all(map(_enough, groups, state.filled)):
                change = sum(b.changes[n] for b, n in zip(groups, state.filled, strict=True))
                key = state._replace(filled=())
                further[key] = self.grow(further.get(key), table, _cost(change * weight))
        return further

    def _met(self, met: tuple[int, ...], choice: int, count: int) -> tuple[int, ...]:
        added = (
            min(before + count * (choice in kinds), most)
            for before, (kinds, most) in zip(met, _counted(self.rules), strict=True)
        )
        return tuple(added)


def _cost(cost: int) -> SlotMove:
    return SlotMove(-1, (), 0, cost)


def _may_fill(group: SlotGroup, block: Block, filled: int, to_come: int) -> bool:
    return filled + to_come >= (block[1] if group.in_blocks else group.least)


def _enough(group: SlotGroup, filled: int) -> bool:
    return filled >= group.least


def _counted(rules: Iterable[ChoiceRule]) -> Iterable[tuple[frozenset[int], int]]:
    """Yield the choices that each rule counts, and the number above which counting stops."""
    for rule in rules:
        yield rule.first, {"at most": rule.bound + 1, "at least": rule.bound}.get(rule.kind, 1)
        yield rule.second, 1
