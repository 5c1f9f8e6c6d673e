"""Finds shadow prices: the first level that one more part of a size changes, and by how much.

Only sizes of which the plan draws all there are can have one. Of any other size one more part
would lie beside those left over.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.batch.judge import drawn_items
from solver.batch.planning import plan

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.batch.planning import Plan
    from solver.engines.limits import Clock
    from solver.problem.aims import Level


@dataclass(frozen=True, slots=True)
class ShadowPrice:
    """The gain from one more part of a size, on the first level that changes."""

    size: tuple[str, str]
    level: Level | None
    """None where none of the levels considered changes."""
    gain: int
    proved: bool
    """Whether the level and all before it are proved."""


def binding(found: Plan) -> list[tuple[str, str]]:
    """List the sizes that a plan uses up and that can be bought.

    Returns
    -------
    list of tuple of str
        Family and name of each size.
    """
    drawn = drawn_items(found.batch, found.builds)
    sizes = []
    for size, items in found.batch.sizes.items():
        on_hand = sum(found.batch.items[item].count for item in items)
        taken = sum(drawn[item] for item in items) if drawn else 0
        if taken == on_hand and any(found.batch.items[item].bought for item in items):
            sizes.append(size)
    return sizes


def shadow_prices_of(found: Plan, depth: int, clock: Clock) -> Iterator[ShadowPrice]:
    """Yield the shadow price of every size that a plan uses up.

    Parameters
    ----------
    found
        The plan.
    depth
        The number of levels to consider, from the first.
    clock
        The time for all sizes; those that come too late are left out.

    Yields
    ------
    ShadowPrice
        The first level that changes, and the gain on it.
    """
    for size in binding(found):
        if not clock.left:
            return
        item = next(i for i in found.batch.sizes[size] if found.batch.items[i].bought)
        richer = plan(found.batch.with_more({item: 1}), clock.rest(), depth=depth)
        yield _shadow_price(found, richer, size, depth)


def _shadow_price(found: Plan, richer: Plan, size: tuple[str, str], depth: int) -> ShadowPrice:
    proved = True
    levels = zip(found.batch.levels, found.reached, richer.reached, strict=True)
    for level, before, after in list(levels)[:depth]:
        if level.aim in ("spare", "cost"):
            break
        proved = proved and "open" not in (before.proof, after.proof)
        if before.value != after.value:
            return ShadowPrice(size, level, before.value - after.value, proved)
    return ShadowPrice(size, None, 0, proved)
