"""Fills pools from items: whether there are enough of them, and which are taken.

Pools that overlap compete for items. A pool that is short takes an item over from another pool
that can have a third one in its stead, and so on: the augmenting paths of bipartite matching.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

Pool = frozenset[int]


def fill(asked: Mapping[Pool, int], on_hand: Mapping[int, int]) -> Counter[int] | None:
    """How many of each item are drawn; None where the pools cannot all be filled."""
    shares = share_out(asked, on_hand)
    if shares is None:
        return None
    total: Counter[int] = Counter()
    for taken in shares.values():
        total += taken
    return total


def share_out(
    asked: Mapping[Pool, int], on_hand: Mapping[int, int]
) -> dict[Pool, Counter[int]] | None:
    """What every pool takes of each item, lower items first; None where there are too few."""
    left = dict(on_hand)
    shares: dict[Pool, Counter[int]] = {pool: Counter() for pool in sorted(asked, key=sorted)}
    for pool, share in shares.items():
        for _ in range(_taken(pool, asked[pool], share, left), asked[pool]):
            if not _one_more(pool, shares, left):
                return None
    return shares


def _taken(pool: Pool, wanted: int, share: Counter[int], left: dict[int, int]) -> int:
    """Take what lies free."""
    got = 0
    for item in sorted(pool):
        some = min(wanted - got, left[item])
        if some:
            share[item] += some
            left[item] -= some
            got += some
    return got


def _one_more(pool: Pool, shares: dict[Pool, Counter[int]], left: dict[int, int]) -> bool:
    """Free one item for a pool by a chain of others giving way."""
    came: dict[int, tuple[int, Pool]] = {}
    front = [(item, pool) for item in sorted(pool)]
    for item, by in front:
        came.setdefault(item, (-1, by))
    for item, _ in front:
        if left[item]:
            left[item] -= 1
            _shift(item, came, shares)
            return True
        for other, taken in shares.items():
            if taken[item]:
                for further in sorted(other):
                    if further not in came:
                        came[further] = (item, other)
                        front.append((further, other))
    return False


def _shift(item: int, came: dict[int, tuple[int, Pool]], shares: dict[Pool, Counter[int]]) -> None:
    while item >= 0:
        before, pool = came[item]
        shares[pool][item] += 1
        if before >= 0:
            shares[pool][before] -= 1
        item = before
