"""The grid of a job: all of its lengths whole, and refused where that would be too fine."""

from __future__ import annotations

from fractions import Fraction

import pytest

from solver.problem.from_case import Grid, TooFineError, grid_of
from specs import InputError, Length
from specs.files.read import case_of
from specs.formats.yaml import parse


def test_lengths_of_a_thou_and_its_third_meet_on_the_third() -> None:
    grid = grid_of([Length(25_400), Length(Fraction(25_400, 3)), Length(0)])
    assert grid.step == Fraction(25_400, 3)
    assert grid.steps(Length(25_400)) == 3
    with pytest.raises(ValueError, match="not on the grid"):
        grid.steps(Length(1))


def test_nothing_but_zeros_has_a_grid_too() -> None:
    assert grid_of([Length(0)]) == Grid(Fraction(1))


def test_lengths_without_a_common_step_are_refused() -> None:
    primes = (7, 11, 13, 17, 19, 23, 29, 31, 37, 41)
    with pytest.raises(TooFineError):
        grid_of([Length(Fraction(10**9, prime)) for prime in primes])


def test_a_job_too_fine_for_exact_arithmetic_is_refused_with_its_reason() -> None:
    factors = ("1/7", "1/11", "1/13", "1/17", "1/19", "1/23")
    places = ", ".join(f"{{part: washer, factor: {f}, name: w{n}}}" for n, f in enumerate(factors))
    text = (
        "length: mm\n"
        "unit:\n"
        "  families: {washer: {kind: washer, sizes: [1.0001, 2.0003]}}\n"
        "  end plays:\n"
        "    play: {window: 0.1 to 0.3, space: d, readings: {d: how deep}, stack: ["
        f"{places}]}}\n"
        "shelf: {washer: {1.0001: 9, 2.0003: 9}}\n"
        "job: {gaps: {play: {readings: {d: 5}}}}\n"
    )
    from gapwright.fit.service import fit_case

    with pytest.raises(InputError, match="no common step coarse enough"):
        fit_case(case_of(parse(text, "job.yaml")))
