"""What one more of a size would bring: the first level that changes, and by how much.

Only sizes of which the plan draws all there are: of the others one more lies beside those left.
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
    """One more of a size, and the first level it changes."""

    size: tuple[str, str]
    level: Level | None
    """None where it changes none of those looked at."""
    gain: int
    proved: bool
    """Whether the level and all before it are proved."""


def binding(found: Plan) -> list[tuple[str, str]]:
    """The sizes of which a plan draws all there are, and that some job could take more of."""
    drawn = drawn_items(found.batch, found.builds)
    sizes = []
    for size, items in found.batch.sizes.items():
        on_hand = sum(found.batch.items[item].count for item in items)
        taken = sum(drawn[item] for item in items) if drawn else 0
        if taken == on_hand and any(found.batch.items[item].bought for item in items):
            sizes.append(size)
    return sizes


def shadow_prices_of(found: Plan, depth: int, clock: Clock) -> Iterator[ShadowPrice]:
    """Say what one more part of every size that a plan uses up would bring.

    Parameters
    ----------
    found
        The plan.
    depth
        On how many of the first levels to look.
    clock
        The time for all sizes; those that come too late are left out.

    Yields
    ------
    ShadowPrice
        The first level that changes, and by how much.
    """
    for size in binding(found):
        if not clock.left:
            return
        item = next(i for i in found.batch.sizes[size] if found.batch.items[i].bought)
        richer = plan(found.batch.with_more({item: 1}), clock.rest(), depth=depth)
        yield _worth(found, richer, size, depth)


def _worth(found: Plan, richer: Plan, size: tuple[str, str], depth: int) -> ShadowPrice:
    proved = True
    levels = zip(found.batch.levels, found.reached, richer.reached, strict=True)
    for level, before, after in list(levels)[:depth]:
        if level.aim in ("spare", "cost"):
            break
        proved = proved and "open" not in (before.proof, after.proof)
        if before.value != after.value:
            return ShadowPrice(size, level, before.value - after.value, proved)
    return ShadowPrice(size, None, 0, proved)
