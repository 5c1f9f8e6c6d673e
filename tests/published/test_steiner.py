"""Set covering problems of known optimum, put as kits: each drum takes any part of its triple.

D. R. Fulkerson, G. L. Nemhauser, L. E. Trotter, Two computationally difficult set covering problems
that arise in computing the 1-width of incidence matrices of Steiner triple systems, Mathematical
Programming Study 2 (1974): the least number of points that meet every triple of A9 is 5 (A27,
with 18, is left out: its proof takes a minute). The figure is from memory. In Fano's plane it is
3: a line meets every line, and no two points do.
"""

from __future__ import annotations

from itertools import combinations, product
from typing import TYPE_CHECKING

import pytest

from solver.problem.shared_parts import Draw
from solver.stock.kit import Kits, Offer

if TYPE_CHECKING:
    from collections.abc import Iterable

    from solver.stock.demand_patterns import Drum


def affine(dimension: int) -> set[frozenset[int]]:
    """Triples of points over three elements whose sum is nothing: the lines of the space."""
    points = [*product(range(3), repeat=dimension)]
    return {
        frozenset(map(points.index, triple))
        for triple in combinations(points, 3)
        if all(sum(coordinates) % 3 == 0 for coordinates in zip(*triple, strict=True))
    }


FANO = {frozenset({nth % 7, (nth + 1) % 7, (nth + 3) % 7}) for nth in range(7)}


def drum(triple: Iterable[int]) -> Drum:
    return (tuple(Draw(((point, 1),), ()) for point in sorted(triple)),)


@pytest.mark.parametrize(("triples", "number", "least"), [(FANO, 7, 3), (affine(2), 12, 5)])
def test_the_least_kit_has_as_many_parts_as_is_published(
    triples: set[frozenset[int]], number: int, least: int
) -> None:
    assert len(triples) == number
    drums = dict.fromkeys(map(drum, triples), 1)
    offers = {point: Offer(1, 1) for triple in triples for point in triple}
    kit = Kits(drums, offers).cheapest(number)
    assert kit is not None
    assert kit.proved
    assert (kit.cost, kit.served) == (least, number)
    fewer = Kits(drums, offers).cheapest(number - 1)
    assert fewer is not None
    assert fewer.cost <= least
