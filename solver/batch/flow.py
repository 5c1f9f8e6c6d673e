"""Fills pools from items: whether the items suffice, and which are taken.

Pools that overlap compete for items. A pool that is short takes an item over from another pool
that can take a third item in its stead, and so on. These chains are the augmenting paths of
bipartite matching.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

Pool = frozenset[int]


def fill(demand: Mapping[Pool, int], on_hand: Mapping[int, int]) -> Counter[int] | None:
    """Count the parts drawn from each item when all pools are filled.

    Parameters
    ----------
    demand
        For each pool of items, the number of parts to take from it.
    on_hand
        For each item, the number of parts there are.

    Returns
    -------
    Counter of int, or None
        For each item the number drawn; None where the pools cannot all be filled.
    """
    shares = share_out(demand, on_hand)
    if shares is None:
        return None
    total: Counter[int] = Counter()
    for taken in shares.values():
        total += taken
    return total


def share_out(
    demand: Mapping[Pool, int], on_hand: Mapping[int, int]
) -> dict[Pool, Counter[int]] | None:
    """Choose the parts that every pool takes from each item, lower items first.

    Parameters
    ----------
    demand
        For each pool of items, the number of parts to take from it.
    on_hand
        For each item, the number of parts there are.

    Returns
    -------
    dict of Counter, or None
        For each pool the number taken from each item; None where the pools cannot all be filled.
    """
    left = dict(on_hand)
    shares: dict[Pool, Counter[int]] = {pool: Counter() for pool in sorted(demand, key=sorted)}
    for pool, share in shares.items():
        for _ in range(_taken(pool, demand[pool], share, left), demand[pool]):
            if not _one_more(pool, shares, left):
                return None
    return shares


def _taken(pool: Pool, wanted: int, share: Counter[int], left: dict[int, int]) -> int:
    """Take parts that no pool has taken yet, and return how many."""
    got = 0
    for item in sorted(pool):
        some = min(wanted - got, left[item])
        if some:
            share[item] += some
            left[item] -= some
            got += some
    return got


def _one_more(pool: Pool, shares: dict[Pool, Counter[int]], left: dict[int, int]) -> bool:
    """Take one part more for a pool along an augmenting path; return whether there was one."""
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
