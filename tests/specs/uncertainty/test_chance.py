"""Chances against closed forms, against scipy, and against drawing (JCGM 101)."""

from __future__ import annotations

from fractions import Fraction
from math import comb, factorial, floor
from random import Random

import numpy as np
import pytest
from scipy import stats

from specs.uncertainty.distribution import (
    CERTAIN,
    MILLION,
    Chance,
    Curve,
    Doubt,
    Shape,
    curve_of,
)
from specs.values.lengths import Length

MOST_ERROR = 500
"""Millionths: no chance is off by more (specs/uncertainty/README.md)."""
BuildUncertainty = list[tuple[Doubt, int]]
SHAPES: tuple[Shape, ...] = ("normal", "rectangular", "triangular")


def doubt(shape: Shape, nm: int) -> Doubt:
    return Doubt(shape, Length(nm))


def between(curve: Curve, low: int | None, high: int | None) -> Chance:
    return curve.between(
        None if low is None else Length(low), None if high is None else Length(high)
    )


def holds(chance: Chance, true: float, slack: float = 1e-8) -> bool:
    return chance.least / MILLION - slack <= true <= chance.most / MILLION + slack


def tight(chance: Chance) -> bool:
    return chance.most - chance.least <= 2 * MOST_ERROR


def rectangles_below(count: int, at: Fraction) -> Fraction:
    """The chance that so many rectangles of half width 1 sum to `at` or less: Irwin and Hall."""
    x = (at + count) / 2
    if not 0 <= x <= count:
        return Fraction(int(x > 0))
    terms = ((-1) ** k * comb(count, k) * (x - k) ** count for k in range(floor(x) + 1))
    return sum(terms, Fraction(0)) / factorial(count)


@pytest.mark.parametrize("count", range(1, 13))
def test_sums_of_equal_rectangles_are_as_irwin_and_hall_have_them(count: int) -> None:
    curve = curve_of([(doubt("rectangular", 1_000), count)])
    for low in range(-1_000 * count - 500, 1_000 * count, 700):
        for high in (low + 300, low + 900, low + 5_000):
            true = rectangles_below(count, Fraction(high, 1_000)) - rectangles_below(
                count, Fraction(low, 1_000)
            )
            chance = between(curve, low, high)
            assert holds(chance, float(true)), (low, high)
            assert tight(chance)


def test_triangles_are_two_rectangles_of_half_their_width() -> None:
    curve = curve_of([(doubt("triangular", 2_000), 2)])
    for high in range(-4_000, 4_001, 250):
        chance = between(curve, None, high)
        assert holds(chance, float(rectangles_below(4, Fraction(high, 1_000))))


@pytest.mark.parametrize("sizes", [(700,), (300, 400, 1_200), (1, 5_000)])
def test_normals_add_up_by_their_squares(sizes: tuple[int, ...]) -> None:
    curve = curve_of([(doubt("normal", size), 1) for size in sizes])
    norm = stats.norm(scale=sum(size**2 for size in sizes) ** 0.5)
    for low, high in ((None, 0), (-900, 400), (1_000, None), (-30, 30), (900, 5_000)):
        true = (1.0 if high is None else norm.cdf(high)) - (0.0 if low is None else norm.cdf(low))
        chance = between(curve, low, high)
        assert holds(chance, float(true)), (low, high)
        assert tight(chance)


def test_a_rectangle_and_a_normal_are_as_scipy_folds_them() -> None:
    curve = curve_of([(doubt("rectangular", 1_000), 1), (doubt("normal", 400), 1)])
    for high in range(-2_500, 2_501, 125):
        z = np.array([high + 1_000, high - 1_000]) / 400
        area = z * stats.norm.cdf(z) + stats.norm.pdf(z)  # the integral of the normal's own curve
        true = float((area[0] - area[1]) * 400 / 2_000)
        assert holds(between(curve, None, high), true), high


def random_doubts(random: Random) -> BuildUncertainty:
    widths = (1, 30, 1_000, 5_000, 12_700, 25_400)
    return [
        (doubt(random.choice(SHAPES), random.choice(widths)), random.choice((1, 1, 2, 5)))
        for _ in range(random.randint(1, 6))
    ]


def drawn(doubts: BuildUncertainty, count: int, seed: int) -> np.ndarray:
    """Draw sums as JCGM 101 does."""
    generator = np.random.default_rng(seed)
    total = np.zeros(count)
    for one, times in doubts:
        size = float(one.size.nm)
        for _ in range(times):
            if one.shape == "normal":
                total += generator.normal(0, size, count)
            elif one.shape == "rectangular":
                total += generator.uniform(-size, size, count)
            else:
                total += generator.triangular(-size, 0, size, count)
    return total


def test_random_sums_are_as_often_within_as_their_chance_says() -> None:
    random, count = Random(7), 200_000  # noqa: S311 - seeded, for a test
    middling = 0
    for seed in range(40):
        doubts = random_doubts(random)
        curve = curve_of(doubts)
        sums = drawn(doubts, count, seed)
        spread = float(sums.std())
        for _ in range(5):
            low, high = sorted(round(random.uniform(-2.5, 2.5) * spread) for _ in range(2))
            share = float(np.mean((low <= sums) & (sums <= high)))
            error = 4.5 * max(share * (1 - share), 10 / count) ** 0.5 / count**0.5
            chance = between(curve, low, high)
            assert holds(chance, share, error), (doubts, low, high)
            assert tight(chance)
            middling += 0.05 < share < 0.95
    assert middling >= 100


def test_the_bound_holds_however_the_widths_differ() -> None:
    """A wide part beside one ever narrower: the hardest to sum, known exactly."""
    for ratio in (1, 2, 3, 10, 100, 1_000, 9_000, 12_000, 100_000):
        wide, narrow = 1_000_000, 1_000_000 // ratio
        curve = curve_of([(doubt("rectangular", wide), 1), (doubt("rectangular", narrow), 1)])
        for at in (0, wide // 3, wide - narrow // 2, wide, wide + narrow // 3):
            over = max(Fraction(0), Fraction(at + narrow - wide))  # what juts out of the wide part
            below = Fraction(at + wide, 2 * wide) - over**2 / (8 * wide * narrow)
            chance = between(curve, None, at)
            assert holds(chance, float(below)), (ratio, at)
            assert tight(chance)


def test_what_is_in_no_doubt_is_in_or_out() -> None:
    for doubts in ([], [(doubt("rectangular", 0), 3), (doubt("normal", 0), 1)]):
        curve = curve_of(doubts)
        assert between(curve, 0, 10) == between(curve, -1, None) == CERTAIN
        assert between(curve, 1, 10) == between(curve, None, -1) == Chance(0, 0)


def test_independent_chances_are_multiplied_and_never_rounded_up() -> None:
    assert Chance(900_000, 900_001) * Chance(333_333, 333_334) == Chance(299_999, 300_001)
    assert CERTAIN * Chance(12, 13) == Chance(12, 13)
