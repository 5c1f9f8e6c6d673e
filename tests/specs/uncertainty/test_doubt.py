"""How doubts add up: by the Guide's rules, shared ones once, against the package uncertainties."""

from __future__ import annotations

from fractions import Fraction
from random import Random

from scipy import stats
from uncertainties import ufloat

from specs.uncertainty.distribution import Doubt
from specs.uncertainty.propagation import (
    STUDENT,
    Contribution,
    ErrorSource,
    joined,
    spread_of,
    standard,
    variance_of,
)
from specs.values.lengths import Length, parse_length


def source(name: str) -> ErrorSource:
    return ErrorSource("reading", name)


def term(name: str, nm: int, factor: int | Fraction, times: int = 1) -> Contribution:
    return Contribution(source(name), Doubt("normal", Length(nm)), Fraction(factor), times)


def test_what_enters_twice_enters_once_with_both_factors() -> None:
    terms = joined([term("depth", 5, 1), term("edge", 3, -1), term("depth", 5, 1)])
    assert terms == (term("depth", 5, 2), term("edge", 3, -1))
    assert variance_of(terms) == 4 * 25 + 9


def test_what_goes_out_and_in_again_is_in_no_doubt() -> None:
    assert joined([term("thick", 5, 1), term("thick", 5, -1), term("exact", 0, 1)]) == ()


def test_parts_alike_are_in_doubt_each_by_itself() -> None:
    assert variance_of([term("thick", 5, 1, times=4)]) == 4 * 25


def test_shapes_have_the_standard_uncertainty_the_guide_gives_them() -> None:
    nm = Length(6)
    shapes = {"normal": 36, "rectangular": 12, "triangular": 6}
    assert {shape: Doubt(shape, nm).variance for shape in shapes} == shapes  # type: ignore[arg-type]


def test_a_standard_uncertainty_is_told_to_a_thousandth_of_a_nanometre() -> None:
    assert standard(Fraction(2)) == Length(Fraction(1_414, 1_000))
    assert standard(Fraction(0)) == Length(0)


def test_random_sums_agree_with_the_package_uncertainties() -> None:
    random = Random(3)  # noqa: S311 - seeded, for a test
    shared = 0
    for _ in range(300):
        sizes = {name: random.randint(1, 9_000) for name in "abcdef"}
        known = {name: ufloat(0, size) for name, size in sizes.items()}
        terms: list[Contribution] = []
        total = 0 * known["a"]
        for _ in range(random.randint(1, 9)):
            name, factor = random.choice("abcdef"), Fraction(random.randint(-6, 6), 2)
            shared += any(other.source.name == name for other in terms)
            terms.append(term(name, sizes[name], factor))
            total += float(factor) * known[name]
        u = standard(variance_of(joined(terms)))
        assert abs(float(u.nm) - total.s) <= 0.001 + 1e-9 * total.s
    assert shared >= 300


def test_few_places_have_the_factor_of_student() -> None:
    for places, factor in STUDENT.items():
        half = stats.t.ppf((1 + 0.9545) / 2, places - 1) / 2
        assert abs(factor / 1_000 - half) <= 0.001, places


def test_the_spread_over_places_is_that_of_their_average_times_the_factor() -> None:
    read = [parse_length(text) for text in ("1.01 mm", "1.02 mm", "1.03 mm")]
    assert spread_of(read) == standard(Fraction(10_000**2, 3)) * Fraction(2_263, 1_000)
    assert spread_of(read[:1] * 5) == Length(0)
