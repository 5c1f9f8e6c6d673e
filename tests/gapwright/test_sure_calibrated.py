"""Of many builds promised with a chance, so many are in their windows: truth drawn part by part."""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import TYPE_CHECKING

import numpy as np
import pytest

from specs.chance import MILLION
from specs.doubt import curve, standard, variance_of
from specs.lengths import Length
from specs.sources import terms_of
from tests.oracles.true_drums import UM, Things, random_drum

if TYPE_CHECKING:
    from specs.doubt import Term
    from tests.oracles.true_drums import Drum

DRUMS, READINGS, TRUTHS = 60, 400, 60
EDGES = (0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 0.94, 0.96, 0.98, 0.995, 1.0)


def terms(drum: Drum) -> tuple[Term, ...]:
    return terms_of(drum.case(), "low", "stack", drum.placed())


def things(seed: int, count: int) -> Things:
    return Things(np.random.default_rng(seed), count)


@pytest.fixture(scope="module")
def drums() -> list[Drum]:
    random = Random(17)  # noqa: S311 - seeded, for a test
    return [random_drum(random) for _ in range(DRUMS)]


def test_the_standard_uncertainty_is_that_of_the_drums_drawn(drums: list[Drum]) -> None:
    count, roads = 40_000, Counter[str]()
    for seed, drum in enumerate(drums):
        off = drum.off(things(seed, count)) * UM
        u = float(standard(variance_of(terms(drum))).nm)
        assert abs(float(off.std()) - u) <= 4 * u / count**0.5 + 0.1, drum
        roads.update([drum.shape, drum.space, "measured" if drum.measured else "sold"])
        roads.update(["limits"] * bool(drum.limits) + ["stays"] * bool(drum.stay))
    assert min(roads.values()) >= 12
    assert len(roads) == 10


def test_promises_are_kept_as_often_as_they_say(drums: list[Drum]) -> None:
    promised: Counter[int] = Counter()
    kept: Counter[int] = Counter()
    number: Counter[int] = Counter()
    generator = np.random.default_rng(5)
    for seed, drum in enumerate(drums):
        curve_ = curve(terms(drum))
        u = float(standard(variance_of(terms(drum))).nm)
        half = round(u * float(generator.uniform(0.8, 3.5)))
        off = drum.off(things(1_000 + seed, READINGS * TRUTHS)) * UM
        for nth in range(READINGS):
            gap = round(float(generator.uniform(-half - 2 * u, half + 2 * u)))
            chance = curve_.between(Length(-half - gap), Length(half - gap))
            bin_ = int(np.searchsorted(EDGES, chance.least / MILLION, "right"))
            true = gap - off[nth * TRUTHS : (nth + 1) * TRUTHS]
            number[bin_] += TRUTHS
            promised[bin_] += TRUTHS * (chance.least + chance.most)
            kept[bin_] += int(((-half <= true) & (true <= half)).sum())
    full = [bin_ for bin_, count in number.items() if count >= 20_000]
    for bin_ in full:
        mean = promised[bin_] / number[bin_] / 2 / MILLION
        error = (mean * (1 - mean) / number[bin_]) ** 0.5
        assert abs(kept[bin_] / number[bin_] - mean) <= 3 * error + 1e-4, EDGES[bin_ - 1 : bin_ + 1]
    assert len(full) >= 10
    assert EDGES.index(0.94) + 1 in full  # builds near 95 in 100 are among them
