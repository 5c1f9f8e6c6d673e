"""Piles made from known parts and read with the stated doubt go wrong as often as claimed."""

from __future__ import annotations

import random
from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING

import pytest
from scipy import stats

from gapwright.tell.candidates import candidates_of
from gapwright.tell.next_measurement import next_measurements
from gapwright.tell.pile import sort_pile
from gapwright.tell.service import Measured, Teller
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.values.lengths import Length
from tests.amounts import few

if TYPE_CHECKING:
    from gapwright.tell.candidates import Candidate
    from gapwright.tell.service import Identification

GAUGES = {
    "caliper": "{tells: 0.02}",
    "worn caliper": "{tells: 0.03, limits: 0.01}",
    "soft": "{tells: 0.03, shape: triangular}",
    "known": "{u: 0.012}",
    "fine": "{tells: 0.002}",
}
PARTS = 4_000


def seeded(seed: int) -> random.Random:
    return random.Random(seed)  # noqa: S311 - a seed that can be repeated is wanted


def teller(rng: random.Random, sure: float = 0.9) -> Teller:
    """A unit of some families whose sizes come near each other."""
    families, at = [], 150
    for nth in range(rng.randint(2, 4)):
        sizes = []
        for letter in "ABC"[: rng.randint(1, 3)]:
            width = rng.choice([0, 2, 4, 6])
            sizes.append(f"{letter}: {at / 100:.2f} to {(at + width) / 100:.2f}")
            at += width + rng.randint(1, 5)
        tolerance = rng.choice(["0", "0.01"])
        families.append(
            f"    f{nth}: {{kind: washer, tolerance: {tolerance}, sizes: {{{', '.join(sizes)}}}, "
            f"features: {{tabs: {rng.randint(2, 3)}}}}}"
        )
    text = "\n".join([
        "length: mm", "unit:",
        f"  gauges: {{{', '.join(f'{name}: {spec}' for name, spec in GAUGES.items())}}}",
        "  families:", *families,
        "  packs: {low: {window: 0.1 to 0.9, stack: [f0]}}",
    ])  # fmt: skip
    return Teller(case_of(parse(text, "unit.yaml"), needs=("unit",)), sure)


def off(rng: random.Random, gauge: str) -> float:
    """By how much a reading in millimetres is off, drawn from what the gauge states."""
    if gauge == "known":
        return rng.gauss(0, 0.012)
    if gauge == "soft":
        return rng.uniform(-0.015, 0.015) + rng.uniform(-0.015, 0.015)
    if gauge == "worn caliper":
        return rng.uniform(-0.03, 0.03) + rng.uniform(-0.01, 0.01)
    return rng.uniform(-1, 1) * {"caliper": 0.02, "fine": 0.002}[gauge]


def length(mm: float) -> Length:
    return Length(Fraction(round(mm * 1_000_000)))


@pytest.mark.parametrize("seed", few(range(10), 4))
def test_a_pile_is_sorted_as_wrongly_as_is_claimed(seed: int) -> None:
    rng = seeded(seed)
    gauge = ["caliper", "worn caliper", "soft", "known"][seed % 4]
    ours = teller(rng)
    sizes = candidates_of(ours.case.unit)
    truth, parts = [], []
    for _ in range(PARTS):
        one = rng.choice(sizes)
        thick = rng.uniform(float(one.low.nm), float(one.high.nm)) / 1e6
        truth.append(one)
        parts.append(Measured((length(thick + off(rng, gauge)),), gauge))
    pile = sort_pile(ours, parts)
    assert {one.verdict for one in pile.identified} <= {"told", "between", "out of limits"}
    likeliest = [
        (one, size) for one, size in zip(pile.identified, truth, strict=True) if one.shares
    ]
    wrong = sum(one.candidate != size for one, size in likeliest)
    claimed = sum(one.wrong for one, _ in likeliest)
    spread = sqrt(sum(one.wrong * (1 - one.wrong) for one, _ in likeliest))
    # a part read farther out than one in a thousand is counted against the next size: at most
    # that many more, and as many out of limits
    assert abs(wrong - claimed) <= 4 * spread + 0.001 * PARTS + 1
    assert len(pile.out) <= 0.001 * PARTS + 4 * sqrt(0.001 * PARTS)
    lots = [one for lot in pile.lots for one in lot.identified]
    told = [(one, size) for one, size in likeliest if one.verdict == "told"]
    assert len(lots) == len(told)
    assert all(one.wrong <= 0.1 for one in lots)
    assert sum(lot.wrong for lot in pile.lots) == pytest.approx(sum(one.wrong for one in lots))


@pytest.mark.parametrize("seed", range(3))
def test_each_share_is_what_scipy_makes_of_bayes(seed: int) -> None:
    """One rectangle and a normal: the difference of two normal distributions over its width."""
    rng = seeded(100 + seed)
    ours = teller(rng)
    sizes = candidates_of(ours.case.unit)
    for _ in range(40):
        read = rng.uniform(1.48, 1.80)
        told = ours.tell(Measured((length(read),), "known"))
        weights: dict[Candidate, float] = {}
        for one in sizes:
            low, high = float(one.low.nm) / 1e6, float(one.high.nm) / 1e6
            if low == high:
                weights[one] = float(stats.norm.pdf(read, low, 0.012))
            else:
                high_part, low_part = (stats.norm.cdf(end, read, 0.012) for end in (high, low))
                weights[one] = float(high_part - low_part) / (high - low)
        total = sum(weights.values())
        for share in told.shares:
            # a size left out for being too far off is one of a thousandth at most
            assert share.share == pytest.approx(weights[share.candidate] / total, abs=0.02)


@pytest.mark.parametrize("seed", range(6))
def test_what_a_better_gauge_would_tell_is_what_trials_find(seed: int) -> None:
    """Draw a part, keep it where it reads so, read it again, take the likeliest and count."""
    rng = seeded(200 + seed)
    ours = teller(rng, 1.0)
    sizes = candidates_of(ours.case.unit)
    told = between(ours, rng)
    looks = {look.name: look.right for look in next_measurements(told) if look.kind == "gauge"}
    read, right, trials = float(told.part.thickness.nm), 0, 0
    while trials < 20_000:
        drawn = rng.choice(sizes)
        thick = rng.uniform(float(drawn.low.nm), float(drawn.high.nm))
        if abs(thick - read) > CALIPER:
            continue
        again = thick + rng.uniform(-FINE, FINE)
        right += max(sizes, key=lambda one: seen_again(one, read, again)) == drawn
        trials += 1
    assert looks["fine"] == pytest.approx(right / trials, abs=0.015)


CALIPER, FINE = 20_000, 2_000


def between(ours: Teller, rng: random.Random) -> Identification:
    """A part read by caliper that may be of several sizes, none of them by far the likeliest."""
    while True:
        told = ours.tell(Measured((length(rng.uniform(1.5, 1.8)),), "caliper"))
        if len(told.shares) > 1 and told.shares[0].share < 0.8:
            return told


def seen_again(size: Candidate, read: float, again: float) -> float:
    """How likely a part of a size reads so both times."""
    low, high = float(size.low.nm), float(size.high.nm)
    if low == high:
        return float(abs(again - low) <= FINE and abs(read - low) <= CALIPER)
    low, wide = max(low, read - CALIPER, again - FINE), high - low
    return max(0.0, min(high, read + CALIPER, again + FINE) - low) / wide
