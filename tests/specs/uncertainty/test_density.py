"""How a reading lies around a size, against numerical convolution by scipy."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.signal import fftconvolve

from specs.uncertainty.density import gauge_spread, spread
from specs.uncertainty.distribution import Doubt
from specs.values.lengths import Length

if TYPE_CHECKING:
    from typing import Any

    from numpy.typing import NDArray

    Grid = NDArray[np.floating[Any]]

STEP = 1 / 400


def convolved(normal: float, halves: list[float]) -> tuple[Grid, Grid]:
    """The density on a fine grid, every part sampled by itself and folded with the rest."""
    reach = sum(halves) + 8 * normal + 1
    half_steps = round(reach / STEP)
    at = np.arange(-half_steps, half_steps + 1) * STEP
    parts = [np.exp(-((at / normal) ** 2) / 2)] if normal else []
    for half in halves:
        box = np.where(np.abs(at) < half - STEP / 2, 1.0, 0.0)
        box[np.isclose(np.abs(at), half, atol=STEP / 2)] = 0.5
        parts.append(box)
    density = parts[0] / parts[0].sum()
    for part in parts[1:]:
        density = fftconvolve(density, part / part.sum(), mode="same")
    return at, density / STEP


@pytest.mark.parametrize("seed", range(24))
def test_density_and_tail_are_those_of_the_parts_folded(seed: int) -> None:
    rng = random.Random(seed)  # noqa: S311 - a seed that can be repeated is wanted
    normal = 0.0 if seed % 3 == 0 else round(rng.uniform(0.05, 1.0), 2)
    count = rng.randint(2, 4) if not normal else rng.randint(0, 4)
    halves = [rng.randint(20, 400) * STEP for _ in range(count)]
    ours = spread(normal, halves)
    at, density = convolved(normal, halves)
    for value in (rng.uniform(-1, 1) * (sum(halves) + 2 * normal) for _ in range(12)):
        # where two rectangles are alike the density has a corner the grid cannot show
        assert ours.density(value) == pytest.approx(np.interp(value, at, density), abs=0.012)
        tail = density[np.abs(at) >= abs(value)].sum() * STEP
        assert ours.beyond(value) == pytest.approx(tail, abs=0.01)
    assert ours.beyond(0) == pytest.approx(1)


def test_a_rectangle_alone_is_flat_and_ends_with_its_limits() -> None:
    flat = spread(0.0, [4.0])
    assert [flat.density(at) for at in (-4.1, -3.9, 0, 3.9, 4.1)] == [0, 0.125, 0.125, 0.125, 0]
    assert flat.density(4.0) == flat.density(-4.0) > 0
    assert flat.beyond(3.0) == pytest.approx(0.25)


def test_what_is_too_narrow_for_a_figure_loses_none() -> None:
    """Terms of alternating sign over a tiny width would leave nothing but rounding."""
    plain, nearly = spread(3.0, [5.0, 2.0]), spread(3.0, [5.0, 2.0, 1e-6])
    assert nearly.density(4.0) == pytest.approx(plain.density(4.0), rel=1e-9)


@pytest.mark.parametrize(("shape", "parts"), [("rectangular", 3), ("triangular", 6), ("normal", 1)])
@pytest.mark.parametrize("places", [1, 2, 3, 8])
def test_a_mean_over_places_is_as_good_as_the_guide_says(
    shape: str, parts: int, places: int
) -> None:
    """U of a mean of n readings is u / sqrt(n): JCGM 100:2008, 4.2.3; shapes 4.3.7 and 4.3.9."""
    gauge = gauge_spread(Doubt(shape, Length(6_000)), 0.0, places)  # type: ignore[arg-type]
    assert gauge.variance == pytest.approx(6_000**2 / parts / places)
