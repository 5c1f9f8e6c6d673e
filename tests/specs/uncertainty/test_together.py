"""Tied gaps together: bounds against scipy's multivariate normal and against drawing."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from random import Random

import numpy as np
from scipy import stats

from specs.uncertainty.distribution import MILLION, Doubt, Shape
from specs.uncertainty.joint import Doubtful, chance_together, tied
from specs.uncertainty.propagation import Contribution, ErrorSource, curve
from specs.values.lengths import Length

SHAPES: tuple[Shape, ...] = ("normal", "rectangular", "triangular")
DRAWS = 60_000


def term(random: Random, name: str, shape: Shape, gap: str = "") -> Contribution:
    times = random.choice((1, 1, 1, 3))
    doubt = Doubt(shape, Length(random.randint(2_000, 12_000) // times))
    return Contribution(ErrorSource("reading", name, gap), doubt, Fraction(1), times)


def entering(random: Random, source: list[Contribution]) -> list[Contribution]:
    """The same source with a factor of its own."""
    factor = Fraction(random.choice((-2, -1, 1, 1, 1, 2)), random.choice((1, 1, 2)))
    return [Contribution(one.source, one.doubt, factor, one.times) for one in source]


def tied_gaps(
    random: Random, shared: int, shapes: tuple[Shape, ...], *, doubts: int = 1
) -> list[Doubtful]:
    """Two or three gaps that all share some sources, each with sources of its own.

    A source that is shared has so many `doubts`, as a reading has those of its gauge and places.
    """
    common = [
        [term(random, f"shared {nth}", random.choice(shapes)) for _ in range(doubts)]
        for nth in range(shared)
    ]
    gaps = []
    for nth in range(random.randint(2, 3)):
        own = [
            term(random, f"own {k}", random.choice(shapes), f"gap {nth}")
            for k in range(random.randint(0, 2))
        ]
        terms = [*(one for source in common for one in entering(random, source)), *own]
        off = curve(terms)
        half = random.randint(4_000, 40_000)
        away = random.randint(-half, half // 2)
        low = None if random.random() < 0.15 else Length(-half - away)
        high = Length(half - away)
        gaps.append(Doubtful(low, high, terms, off.between(low, high)))
    return gaps


def drawn(gaps: list[Doubtful], generator: np.random.Generator) -> float:
    """How often all gaps lie in their windows when every source is drawn."""
    known: dict[tuple[ErrorSource, Doubt], np.ndarray] = {}
    inside = np.ones(DRAWS, bool)
    for gap in gaps:
        off = np.zeros(DRAWS)
        for one in gap.terms:
            if (one.source, one.doubt) not in known:
                drawn_ = [_draw(one.doubt, generator) for _ in range(one.times)]
                known[one.source, one.doubt] = np.sum(drawn_, axis=0)
            off += float(one.factor) * known[one.source, one.doubt]
        low = -np.inf if gap.low is None else float(gap.low.nm)
        high = np.inf if gap.high is None else float(gap.high.nm)
        inside &= (low <= off) & (off <= high)
    return float(inside.mean())


def _draw(doubt: Doubt, generator: np.random.Generator) -> np.ndarray:
    size = float(doubt.size.nm)
    if doubt.shape == "normal":
        return generator.normal(0, size, DRAWS)
    if doubt.shape == "triangular":
        return generator.triangular(-size, 0, size, DRAWS)
    return generator.uniform(-size, size, DRAWS)


def bonferroni(gaps: list[Doubtful]) -> tuple[int, int]:
    lost = sum(MILLION - gap.chance.least for gap in gaps)
    return max(0, MILLION - lost), min(gap.chance.most for gap in gaps)


def test_bounds_hold_what_is_drawn_and_are_nearer_than_bonferronis() -> None:
    random, generator = Random(2), np.random.default_rng(2)  # noqa: S311 - seeded, for a test
    roads: Counter[str] = Counter()
    for nth in range(200):
        shared, doubts = ((1, 1), (1, 2), (2, 1), (3, 1))[nth % 4]
        gaps = tied_gaps(random, shared, SHAPES, doubts=doubts)
        found, share = chance_together(gaps), drawn(gaps, generator)
        error = 4 * (0.25 / DRAWS) ** 0.5
        assert found.least / MILLION - error <= share <= found.most / MILLION + error, nth
        least, most = bonferroni(gaps)
        assert least <= found.least <= found.most <= most
        nearer = (found.most - found.least) * 3 < most - least
        kind = f"{shared} shared" if doubts == 1 else "1 shared of two doubts"
        roads[f"{kind}{', nearer' if nearer else ''}"] += most - least > 20_000
    assert roads["1 shared, nearer"] >= 8, roads
    assert roads["1 shared of two doubts, nearer"] >= 8, roads
    assert roads["2 shared"] >= 15, roads
    assert roads["3 shared"] >= 15, roads


def test_bounds_of_normals_hold_the_multivariate_normal_of_scipy() -> None:
    random = Random(7)  # noqa: S311 - seeded, for a test
    looked = 0
    for nth in range(60):
        gaps = tied_gaps(random, 1 + nth % 2, ("normal",))
        sources = list(dict.fromkeys(one.source for gap in gaps for one in gap.terms))
        ways = np.zeros((len(gaps), len(sources)))
        for row, gap in enumerate(gaps):
            for one in gap.terms:
                u = float(one.doubt.size.nm) * one.times**0.5
                ways[row, sources.index(one.source)] = float(one.factor) * u
        covariance = ways @ ways.T
        if np.linalg.matrix_rank(covariance) < len(gaps):
            continue
        ends = [
            [side * np.inf if end is None else float(end.nm) for end, side in pair]
            for pair in (((gap.low, -1), (gap.high, 1)) for gap in gaps)
        ]
        low, high = np.array(ends).T
        true = stats.multivariate_normal(cov=covariance).cdf(high, lower_limit=low)
        found = chance_together(gaps)
        assert found.least / MILLION - 1e-4 <= true <= found.most / MILLION + 1e-4, nth
        looked += found.most - found.least < 100_000
    assert looked >= 25


def test_gaps_are_tied_by_what_they_share_alone() -> None:
    random = Random(3)  # noqa: S311 - seeded, for a test
    one, two = tied_gaps(random, 1, SHAPES)[:2]
    alone = Doubtful(None, Length(0), [term(random, "lone", "normal", "gap 9")], one.chance)
    assert sorted(tied([one, alone, two])) == [[0, 2], [1]]
