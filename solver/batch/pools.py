"""Finds the pools of items that are contended, and those that overlap.

Jobs of one unit merge lots in the same way, so their pools are equal or disjoint and a pool is one
row of stock. Units that merge lots differently have pools that overlap. These are tied together,
and split into atoms: sets of items that lie in the same pools.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from solver.batch.columns import ComponentBuild
    from solver.batch.components import Component
    from solver.batch.instance import Batch, Pool


def contended(
    batch: Batch, parts: Sequence[Sequence[tuple[Component, list[ComponentBuild] | None]]]
) -> frozenset[Pool]:
    """Find the pools of which all jobs together could ask for more than there is.

    Parameters
    ----------
    batch
        The jobs and their stock.
    parts
        For each job its components with their columns; None for a component that is counted.

    Returns
    -------
    frozenset of Pool
        The contended pools. Pools that overlap with others always count as contended.
    """
    needed: Counter[Pool] = Counter()
    most: dict[int, dict[int, int]] = {}
    for job, mine in enumerate(parts):
        for component, columns in mine:
            if columns is None:
                taken = {c for gap in component.instance.gaps for c in gap.choices}
                demand = {c: batch.jobs[job].instance.choices[c].count for c in taken}
            else:
                if id(columns) not in most:
                    most[id(columns)] = _most(columns)
                demand = most[id(columns)]
            for choice, count in demand.items():
                needed[batch.pools[job][choice]] += count
    by_atom: set[Pool] = set()
    for atoms, pools in tied(needed):
        held = sum(batch.items[item].count for atom in atoms for item in atom)
        if len(pools) > 1 or sum(needed[pool] for pool in pools) > held:
            by_atom.update(pools)
    return frozenset(by_atom)


def _most(columns: Iterable[ComponentBuild]) -> dict[int, int]:
    most: dict[int, int] = {}
    for column in columns:
        for choice, count in column.uses:
            most[choice] = max(most.get(choice, 0), count)
    return most


def tied(pools: Iterable[Pool]) -> Iterator[tuple[list[Pool], list[Pool]]]:
    """Yield each family of pools that overlap, directly or through others, with its atoms.

    Yields
    ------
    atoms : list of Pool
        Disjoint sets of items, each within or outside every pool of the family.
    family : list of Pool
        The pools.
    """
    left = sorted((pool for pool in pools if pool), key=sorted)
    while left:
        family = [left.pop(0)]
        items = set(family[0])
        grown = True
        while grown:
            near = [pool for pool in left if not items.isdisjoint(pool)]
            left = [pool for pool in left if items.isdisjoint(pool)]
            family += near
            items.update(*near)
            grown = bool(near)
        yield _atoms(family), family


def _atoms(pools: list[Pool]) -> list[Pool]:
    found: dict[tuple[bool, ...], set[int]] = {}
    for item in sorted(set().union(*pools)):
        found.setdefault(tuple(item in pool for pool in pools), set()).add(item)
    return [frozenset(items) for items in found.values()]
