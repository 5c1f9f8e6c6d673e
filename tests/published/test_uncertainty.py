"""Doubt against the standards that define it: JCGM 100, JCGM 106, ISO 14253-1."""

from __future__ import annotations

from fractions import Fraction

import pytest

from specs.formats import yaml as yaml_door
from specs.uncertainty.distribution import MILLION, Chance, Doubt
from specs.uncertainty.propagation import (
    Contribution,
    ErrorSource,
    curve,
    deviation_of,
    joined,
    mean_of,
    standard,
    variance_of,
)
from specs.values.lengths import Length
from tests.published.printed import PUBLISHED

FIGURES = yaml_door.read(PUBLISHED / "standards" / "uncertainty.yaml").data
STEP = 10**6  # one printed unit in our own


def normal(u: str) -> list[Contribution]:
    return [Contribution(ErrorSource("reading", "read"), Doubt("normal", length(u)), Fraction(1))]


def length(text: str) -> Length:
    return Length(Fraction(text) * STEP)


def chance(u: str, read: str, low: str | None, high: str | None) -> Chance:
    ends = (None if end is None else length(end) - length(read) for end in (low, high))
    return curve(normal(u)).between(*ends)


def agrees(found: Chance, printed: str) -> bool:
    """Whether a chance rounds to what is printed."""
    half = Fraction(1, 2 * 10 ** len(printed.partition(".")[2]))
    least, most = Fraction(found.least, MILLION), Fraction(found.most, MILLION)
    return least - half <= Fraction(printed) <= most + half


def test_the_end_gauge_of_the_guide_is_in_the_doubt_it_prints() -> None:
    rows = FIGURES["end gauge"]["rows"]
    terms = joined(
        Contribution(ErrorSource("reading", name), Doubt(shape, length(size)), Fraction(factor))
        for name, (shape, size, factor) in rows.items()
    )
    u = standard(variance_of(terms)).nm / STEP
    assert round(u) == int(FIGURES["end gauge"]["printed"])
    assert abs(u - Fraction(FIGURES["end gauge"]["unrounded"])) < Fraction(1, 50)


def test_readings_at_many_places_spread_as_the_guide_prints() -> None:
    figures = FIGURES["repeated"]
    read = [length(text) for text in figures["read"]]
    spread = deviation_of(read)
    assert mean_of(read) == length(figures["mean"])
    assert round(spread.nm / STEP, 3) == Fraction(figures["deviation"])
    each = Contribution(
        ErrorSource("reading", "read"), Doubt("normal", spread / len(read)), Fraction(1), len(read)
    )
    of_mean = standard(variance_of([each]))
    assert round(of_mean.nm / STEP, 3) == Fraction(figures["deviation of the mean"])


@pytest.mark.parametrize("row", FIGURES["conformity"]["examples"], ids=str)
def test_a_reading_conforms_with_the_chance_the_examples_print(row: dict[str, str]) -> None:
    assert agrees(chance(row["u"], row["read"], row.get("low"), row.get("high")), row["chance"])


@pytest.mark.parametrize(("printed", "z"), FIGURES["conformity"]["z"].items())
def test_one_sided_chances_are_those_of_table_1(printed: str, z: str) -> None:
    low, high = (chance("1", "0", None, str(Fraction(z) + Fraction(off, 200))) for off in (-1, 1))
    assert low.least <= Fraction(printed) * MILLION <= high.most


def test_within_the_guard_band_a_gap_is_sure_to_95_in_100() -> None:
    guard = FIGURES["guard"]
    for at in ("0.43", "0.45"):
        assert agrees(chance(guard["u"], at, guard["low"], guard["high"]), guard[f"at {at}"])
