"""Bounds in whole numbers hold whatever duals the engine gives."""

from __future__ import annotations

from itertools import product
from random import Random

import numpy as np

from solver.engines.integer_rows import IntegerBound, Matrix, Row, entries


def drawn(rng: Random) -> tuple[list[Row], list[int], int]:
    """A few rows over a few columns from 0 to 2, what the columns cost, and the least there is."""
    width = rng.randint(2, 4)
    rows: list[Row] = []
    for _ in range(rng.randint(1, 4)):
        terms = {column: rng.randint(-4, 4) for column in range(width) if rng.random() < 0.8}
        low, high = sorted(rng.sample(range(-6, 12), 2))
        ends = rng.choice([(low, None), (None, high), (low, high)])
        rows.append(({c: f for c, f in terms.items() if f}, *ends))
    cost = [rng.randint(-9, 9) for _ in range(width)]
    worth = [
        sum(c * x for c, x in zip(cost, point, strict=True))
        for point in product(range(3), repeat=width)
        if all(holds(row, point) for row in rows)
    ]
    return rows, cost, min(worth, default=10**6)


def holds(row: Row, point: tuple[int, ...]) -> bool:
    terms, low, high = row
    left = sum(factor * point[column] for column, factor in terms.items())
    return (low is None or low <= left) and (high is None or left <= high)


def bound_of(rows: list[Row], cost: list[int], duals: list[float]) -> IntegerBound | None:
    matrix = Matrix()
    matrix.add(entries(rows))
    low, high = np.zeros(len(cost), dtype=np.int64), np.full(len(cost), 2, dtype=np.int64)
    return matrix.bound(np.array(cost, dtype=np.int64), low, high, duals)


def test_no_duals_lift_a_bound_above_the_least_there_is() -> None:
    near = 0
    for seed in range(600):
        rng = Random(seed)  # noqa: S311 - no secret hangs on it
        rows, cost, least = drawn(rng)
        for _ in range(5):
            duals = [rng.uniform(-4, 4) * rng.choice([0, 1e-9, 1, 1e3]) for _ in rows]
            bound = bound_of(rows, cost, duals)
            assert bound is not None
            assert bound.value <= least
            near += bound.value > least - 8
    assert near > 100


def test_a_column_that_lifts_the_bound_is_in_no_plan_as_good() -> None:
    lifted = 0
    for seed in range(300):
        rng = Random(seed)  # noqa: S311 - no secret hangs on it
        rows, cost, least = drawn(rng)
        bound = bound_of(rows, cost, [rng.uniform(-2, 2) for _ in rows])
        if bound is None or least == 10**6:
            continue
        for column, slope in enumerate(bound.slope):
            if slope > (least << bound.bits) - bound.total:
                fixed: list[Row] = [*rows, ({column: 1}, 1, None)]
                worth = [
                    sum(c * x for c, x in zip(cost, point, strict=True))
                    for point in product(range(3), repeat=len(cost))
                    if all(holds(row, point) for row in fixed)
                ]
                assert min(worth, default=10**6) > least
                lifted += 1
    assert lifted > 20


def test_duals_too_large_for_exact_arithmetic_prove_nothing() -> None:
    assert bound_of([({0: 1}, 1, None)], [1], [1e30]) is None


def test_rows_are_held_in_whole_numbers() -> None:
    matrix = Matrix()
    matrix.add(entries([({0: 2, 1: 3}, 5, 5)]))
    matrix.add(entries([({1: 1}, None, 1)]))
    assert matrix.holds(np.array([1, 1]))
    assert not matrix.holds(np.array([0, 2]))
