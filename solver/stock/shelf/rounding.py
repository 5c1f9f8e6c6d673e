"""Whole packs near those of the program, as cheap as what is known lets them be.

Nothing is built here: a shelf so found may lack jobs all the same, and whoever builds them for it
learns why. Then it is looked for again.
"""

from __future__ import annotations

from itertools import product
from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from solver.engines.cp_sat import Clock
    from solver.stock.shelf.bounds import Learning


def rounded(known: Learning, packs: Sequence[Fraction], clock: Clock) -> list[int]:
    """Packs to be built for, by steps of a pack more, a pack less, or one for another."""
    found = [min(ceil(pack), most) for pack, most in zip(packs, known.stairs.most, strict=True)]
    while known.at_least(found)[0] and found != [*known.stairs.most]:
        found = _more(known, found)
    while clock.left:
        at = known.at_least(found)
        better = next((one for one in _near(known, found) if known.at_least(one) < at), None)
        if better is None:
            break
        found = better
    return found


def _more(known: Learning, packs: Sequence[int]) -> list[int]:
    """A pack more of what helps most jobs; of every choice where none helps by itself."""
    lacking, _ = known.at_least(packs)
    ways = [
        _changed(packs, {nth: 1}) for nth, most in enumerate(known.stairs.most) if packs[nth] < most
    ]
    best = min(ways, key=known.at_least)
    if known.at_least(best)[0] < lacking:
        return best
    return [min(pack + 1, most) for pack, most in zip(packs, known.stairs.most, strict=True)]


def _near(known: Learning, packs: Sequence[int]) -> Iterator[list[int]]:
    """Packs a step away, the greatest savings first."""
    dearest = sorted(range(len(packs)), key=lambda nth: -known.costs[nth])
    some = [nth for nth in dearest if packs[nth]]
    free = [nth for nth in reversed(dearest) if packs[nth] < known.stairs.most[nth]]
    for nth in some:
        yield _changed(packs, {nth: -1})
    for nth, other in product(some, free):
        if known.costs[other] < known.costs[nth]:
            yield _changed(packs, {nth: -1, other: 1})


def _changed(packs: Sequence[int], by: dict[int, int]) -> list[int]:
    return [pack + by.get(nth, 0) for nth, pack in enumerate(packs)]
