"""How doubts add up: by the Guide's rules, shared ones once, against the package uncertainties."""

from __future__ import annotations

from fractions import Fraction
from random import Random
from statistics import stdev

from uncertainties import ufloat

from specs.uncertainty.distribution import Doubt
from specs.uncertainty.propagation import (
    Contribution,
    ErrorSource,
    deviation_of,
    joined,
    standard,
    variance_of,
)
from specs.values.lengths import Length


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


def test_the_spread_over_places_is_their_standard_deviation() -> None:
    random = Random(4)  # noqa: S311 - seeded, for a test
    for places in range(2, 25):
        read = [random.randint(900_000, 1_100_000) for _ in range(places)]
        found = deviation_of([Length(one) for one in read])
        assert abs(float(found.nm) - stdev(read)) <= 0.001 + 1e-9 * stdev(read)
    assert deviation_of([Length(7)] * 5) == deviation_of([Length(7)]) == Length(0)


def test_a_variance_in_whole_numbers_is_the_sum_of_the_terms_by_the_formula() -> None:
    rng = Random(5)  # noqa: S311 - no secret
    for _ in range(300):
        terms = [
            Contribution(
                ErrorSource("part", str(nth)),
                Doubt(rng.choice(("normal", "rectangular", "triangular")),
                      Length(Fraction(rng.randint(0, 10**6), rng.randint(1, 12)))),
                Fraction(rng.randint(-6, 6), rng.randint(1, 4)),
                rng.randint(1, 5),
            )
            for nth in range(rng.randint(0, 9))
        ]  # fmt: skip
        shares = {"normal": 1, "rectangular": 3, "triangular": 6}
        by_formula = sum(
            (
                term.times * term.factor**2 * term.doubt.size.nm**2 / shares[term.doubt.shape]
                for term in terms
            ),
            Fraction(0),
        )
        assert variance_of(terms) == by_formula


def test_the_deviation_of_readings_is_that_around_their_mean() -> None:
    rng = Random(6)  # noqa: S311 - no secret
    for _ in range(300):
        values = [
            Length(Fraction(rng.randint(-(10**6), 10**6), rng.randint(1, 7)))
            for _ in range(rng.randint(1, 6))
        ]
        mean = sum((one.nm for one in values), Fraction(0)) / len(values)
        around = sum(((one.nm - mean) ** 2 for one in values), Fraction(0))
        variance = around / max(1, len(values) - 1)
        found = deviation_of(values).nm
        step = Fraction(1, 1000)  # rounded down to it
        assert found**2 <= variance < (found + step) ** 2
