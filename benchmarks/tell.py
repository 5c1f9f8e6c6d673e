"""A pile of 10,000 parts sorted, against a plain loop over the parts with scipy's normals."""

from __future__ import annotations

import random
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

from benchmarks.stopwatch import ask_same, in_turns
from benchmarks.table import Row, Skipped
from gapwright.tell.candidates import candidates_of
from gapwright.tell.service import Measured, Teller
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.values.lengths import Length

if TYPE_CHECKING:
    from gapwright.tell.candidates import Candidate

PARTS, SIZES, U = 10_000, 24, 4_000
FINEST = 2_540  # a gauge is read to a ten-thousandth of an inch


def run(*, quick: bool) -> list[Row | Skipped]:
    """Sort piles both ways; every part must be taken for the same size."""
    piles, count = (1, 200) if quick else (3, PARTS)
    ours, peers = [], []
    for seed in range(piles):
        teller, parts = _pile(seed, count)
        ways = {"told": partial(_told, teller, parts), "scipy": partial(_looped, teller, parts)}
        ask_same(ways)
        seconds = in_turns(ways, 1)
        ours.append(seconds["told"])
        peers.append(seconds["scipy"])
    return [Row(f"pile of {count:,}", "tell", "scipy loop", tuple(ours), tuple(peers), 1.0)]


def _pile(seed: int, count: int) -> tuple[Teller, tuple[Measured, ...]]:
    draw = random.Random(seed)  # noqa: S311 - a seed that can be repeated is wanted
    sizes = [f"S{nth}: {1.5 + 0.02 * nth:.2f} to {1.51 + 0.02 * nth:.2f}" for nth in range(SIZES)]
    unit = [
        "length: mm", "unit:", f"  gauges: {{hand: {{u: {U / 1_000_000}}}}}",
        f"  families: {{washer: {{kind: washer, sizes: {{{', '.join(sizes)}}}}}}}",
        "  packs: {low: {window: 0.1 to 0.9, stack: [washer]}}",
    ]  # fmt: skip
    teller = Teller(case_of(parse("\n".join(unit), "unit.yaml"), needs=("unit",)))
    candidates = candidates_of(teller.case.unit)
    return teller, tuple(_part(draw, candidates) for _ in range(count))


def _part(draw: random.Random, candidates: tuple[Candidate, ...]) -> Measured:
    one = draw.choice(candidates)
    thickness = draw.uniform(float(one.low.nm), float(one.high.nm)) + draw.gauss(0, U)
    return Measured((Length(Fraction(round(thickness / FINEST) * FINEST)),), "hand")


def _told(teller: Teller, parts: tuple[Measured, ...]) -> list[str]:
    """By a teller that has told nothing yet."""
    fresh = Teller(teller.case, teller.sure)
    found = (fresh.tell(part) for part in parts)
    return [told.candidate.size if told.shares else "" for told in found]


def _looped(teller: Teller, parts: tuple[Measured, ...]) -> list[str]:
    """Part by part, all sizes in one call."""
    import numpy as np
    from scipy.stats import norm

    sizes = candidates_of(teller.case.unit)
    low, high = (np.array([float(end.nm) for end in ends]) for ends in zip(
        *((one.low, one.high) for one in sizes), strict=True
    ))  # fmt: skip
    found = []
    for part in parts:
        read = float(part.thickness.nm)
        likely = norm.cdf(high, read, U) - norm.cdf(low, read, U)
        found.append(sizes[int(likely.argmax())].size)
    return found
