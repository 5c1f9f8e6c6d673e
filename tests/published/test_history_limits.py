"""What few residuals tell of a bias and a spread, against a standard's and a handbook's figures."""

from __future__ import annotations

from collections import Counter
from math import sqrt

import pytest

from gapwright.check.history import Residual, seen_of
from specs.formats import yaml as yaml_door
from specs.uncertainty.confidence import chi_square, mean_limits, spread_limits, student
from specs.uncertainty.propagation import mean_and_deviation
from specs.values.lengths import Length
from tests.published.printed import PUBLISHED

FIGURES = yaml_door.read(PUBLISHED / "standards" / "history.yaml").data
UNIT = 10**6


def agrees(found: float, printed: str) -> bool:
    return abs(found - float(printed)) <= 0.5001 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize(("freedom", "printed"), FIGURES["student"].items())
def test_students_factor_is_that_of_the_table(freedom: str, printed: str) -> None:
    assert agrees(student(int(freedom)), printed)


def test_bias_and_spread_are_those_of_the_guides_temperatures() -> None:
    """The values stand for residuals, in degrees for millimetres."""
    told = FIGURES["temperatures"]
    zero = Length(0)
    (seen,) = seen_of([
        Residual("", "", "gauge", "(not named)", Length(round(float(value) * UNIT)), zero, zero)
        for value in told["values"]
    ])  # fmt: skip
    assert seen.bias is not None
    assert seen.spread is not None
    assert agrees(float(seen.bias.figure.nm) / UNIT, told["mean"])
    assert agrees(float(seen.spread.figure.nm) / UNIT, told["spread"])
    half = float((seen.bias.high - seen.bias.low).nm) / 2 / UNIT
    assert agrees(half / student(19), told["of the mean"])


def test_how_far_a_value_lies_off_is_the_handbooks() -> None:
    """As the rooms of former units are: in standard deviations off their mean."""
    values = [Length(round(float(value) * UNIT)) for value in FIGURES["uranium"]["values"]]
    mean, spread = mean_and_deviation(Counter(values))
    off = float((values[-1] - mean).nm / spread.nm)
    assert off == pytest.approx(float(FIGURES["uranium"]["off"]), abs=1e-4)
    told = FIGURES["temperatures"]
    mean, spread = mean_and_deviation(
        Counter(Length(round(float(value) * UNIT)) for value in told["values"])
    )
    assert agrees(float(mean.nm) / UNIT, told["mean"])
    assert agrees(float(spread.nm) / UNIT, told["spread"])


def test_the_limits_of_a_mean_are_the_handbooks() -> None:
    told = FIGURES["heat flow meter"]
    found = mean_limits(float(told["mean"]), float(told["spread"]), int(told["count"]))
    assert agrees(student(int(told["count"]) - 1), told["t"])
    for end, printed in ((found.low, told["low"]), (found.high, told["high"])):
        assert end == pytest.approx(float(printed), abs=1.1e-6)  # mean and spread are rounded


def test_the_limits_of_a_spread_are_the_handbooks() -> None:
    told = FIGURES["gears"]
    spread, count = float(told["spread"]), int(told["count"])
    low, high = float(told["low end"]), float(told["high end"])
    assert agrees(chi_square(0.025, count - 1), told["low end"])
    assert agrees(chi_square(0.975, count - 1), told["high end"])
    found = spread_limits(spread, count)
    assert found.low == pytest.approx(spread * sqrt((count - 1) / high), rel=1e-5)
    assert found.high == pytest.approx(spread * sqrt((count - 1) / low), rel=1e-5)
