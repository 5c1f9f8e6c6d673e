"""Finds one size, and the number of its parts, that would close a hole in what a stock serves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.builds.enumeration import TooManyError
from solver.cover.covering import Covering
from solver.cover.sweep import served
from solver.problem.components import part_of, stands_apart
from solver.problem.parameter import Sweep

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.engines.limits import Clock


@dataclass(frozen=True, slots=True)
class Addition:
    """Parts of one size that, added to the stock, serve every value of a hole."""

    choice: int
    count: int


def smallest_addition(sweep: Sweep, clock: Clock) -> Addition | None:
    """Find the size of which the fewest parts would serve all values of a sweep.

    Only sizes that a shop sells are considered. Of equally few parts the cheapest are taken, then
    the first by rank.

    Parameters
    ----------
    sweep
        The instance at each value of the hole.
    clock
        The time that is left.

    Returns
    -------
    Addition, or None
        None where no single size would serve all values, or time ran out.
    """
    instance = sweep.instance
    found: list[tuple[int, bool, int, int]] = []
    for choice in _sold(sweep):
        for count in range(1, _most(sweep, choice) + 1):
            if not clock.left or (found and count > min(found)[0]):
                break
            if _serves(replace(sweep, instance=instance.with_more({choice: count})), clock):
                price = instance.choices[choice].price
                found.append((count, price is None, price or 0, choice))
                break
    if not found:
        return None
    count, _, _, choice = min(found)
    return Addition(choice, count)


def _sold(sweep: Sweep) -> Iterator[int]:
    """Yield the sizes sold by a shop that gaps which move could take, and that might suffice."""
    for choice, part in enumerate(sweep.instance.choices):
        if part.sold and _most(sweep, choice):
            more = {choice: _most(sweep, choice)}
            plenty = replace(sweep, instance=sweep.instance.with_more(more))
            if _possibly(plenty):
                yield choice


def _most(sweep: Sweep, choice: int) -> int:
    """Return the most parts of a choice that the gaps which move could take."""
    moving = [gap for nth, gap in enumerate(sweep.instance.gaps) if sweep.moves(nth)]
    return sum(
        max(
            (sum(p.most for p in lay.places if choice in p.takes) for lay in gap.layouts),
            default=0,
        )
        for gap in moving
    )


def _possibly(sweep: Sweep) -> bool:
    """Return whether each gap that moves could be served at every value by itself."""
    instance = sweep.instance
    for index, gap in enumerate(instance.gaps):
        if not sweep.moves(index):
            continue
        apart = stands_apart(instance, index)
        one = part_of(instance, [index]) if apart else replace(instance, gaps=(gap,), rules=())
        try:
            if len(served(Sweep(one, (sweep.rates[index],), sweep.count))) < sweep.count:
                return False
        except TooManyError:
            continue
    return True


def _serves(sweep: Sweep, clock: Clock) -> bool:
    """Return whether the whole job fits at every value."""
    if not _possibly(sweep):
        return False
    covering = Covering(sweep, clock)
    return all(covering.at(nth).status == "fit" for nth in range(sweep.count))
