"""Finds every sum that a layout's parts can have, each with its best build.

For one layout and one sum the gap is fixed, and with it every level that depends on the gap. So of
all builds with that sum only the one that is least on the other levels can be best, whatever the
space. One cost is remembered for each sum.
"""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from solver.builds.dynamic_program import DynamicProgram
from solver.builds.enumeration import MOST_STEPS, PlaceGroup, TooManyError, group_builds
from solver.problem.instance import GapBuild

if TYPE_CHECKING:
    from solver.builds.slots import SlotGroup, SlotMove, SlottedLayout

Reached = tuple[int, "Reached | None", "SlotMove | None"]
"""The least cost of a sum, the sum it was reached from, and the move."""
Sums = dict[int, Reached]


def best_sums(slotted: SlottedLayout) -> Sums:
    """Return the best build for each sum of one layout, in steps.

    Raises TooManyError where there are too many sums.
    """
    start: Sums = {0: (slotted.constant, None, None)}
    return DynamicProgram(slotted, _cheapest, apart=False).ends(start).get((), {})


def _cheapest(other: Sums | None, table: Sums, move: SlotMove) -> Sums:
    cost, takes = move.cost, move.takes
    if other is None and not cost and not any(move.parts):
        return dict(table)
    found = {} if other is None else other
    for taken, one in table.items():
        total = one[0] + cost
        known = found.get(taken + takes)
        if known is None or total < known[0]:
            found[taken + takes] = total, one, move
    return found


def build_of(slotted: SlottedLayout, layout: int, reached: Reached) -> GapBuild:
    """Put the parts of a sum at their places, in their best order.

    Parameters
    ----------
    slotted
        The layout with its groups of slots.
    layout
        Its index in the gap.
    reached
        The entry of the sum, as `best_sums` returns it.
    """
    held: dict[tuple[int, ...], Counter[int]] = {}
    _, before, move = reached
    while before is not None and move is not None:
        groups = (
            slotted.families[slotted.instance.choices[move.choice].family] if move.parts else ()
        )
        for group, count in zip(groups, move.parts, strict=True):
            held.setdefault(group.indices, Counter())[move.choice] += count
        _, before, move = before
    parts: list[tuple[int, ...]] = [()] * len(slotted.layout.places)
    for group in (group for groups in slotted.families.values() for group in groups):
        for nth, here in enumerate(_laid(slotted, group, held.get(group.indices, Counter()))):
            parts[group.indices[nth]] = here
    return GapBuild(layout, tuple(parts))


def _laid(slotted: SlottedLayout, group: SlotGroup, held: Counter[int]) -> list[tuple[int, ...]]:
    """Return the parts at each place of a group, block by block, those that stay first."""
    if len(group.places) == 1:
        return [tuple(sorted(held.elements()))]
    if group.stays:
        with suppress(TooManyError):
            return _ordered(slotted, group, held)
    deficits = {choice: slotted.instance.choices[choice].deficit for choice in held}
    heats = group.in_blocks or not group.stays
    laid: list[tuple[int, ...]] = [()] * len(group.places)
    first = 0
    for deficit in sorted(set(deficits.values()), reverse=True) if heats else [None]:
        block = Counter({c: n for c, n in held.items() if deficit in (None, deficits[c])})
        end = first + block.total()
        for choice in block:
            kept = [at for at, _ in group.stays.get(choice, ()) if first <= at < end]
            for at in kept[: block[choice]]:
                laid[at] = (choice,)
        block -= Counter(choice for (choice,) in filter(None, laid[first:end]))
        free = [at for at in range(first, end) if not laid[at]]
        free.sort(key=group.indices.__getitem__)
        for at, choice in zip(free, sorted(block.elements()), strict=True):
            laid[at] = (choice,)
        first = end
    return laid


def _ordered(slotted: SlottedLayout, group: SlotGroup, held: Counter[int]) -> list[tuple[int, ...]]:
    """Return the parts at each place in the order that listing finds for them, by the tie-break.

    Raises TooManyError where there are too many beginnings.
    """
    choices = [replace(one, count=held[nth]) for nth, one in enumerate(slotted.instance.choices)]
    instance = replace(slotted.instance, choices=tuple(choices))
    places = PlaceGroup(tuple(sorted(group.indices)))
    (build,) = group_builds(instance, slotted.gap, slotted.layout, places, MOST_STEPS)
    here = dict(build.placed)
    return [here[index] for index in group.indices]
