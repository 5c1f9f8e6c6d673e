"""Used parts held against the limits of wear: worn, good, or not known to be good."""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

import pytest

from specs.models.families import Family
from specs.parts.wear import Standing, Used, grounds_of, standing
from specs.values.fields import Context
from specs.values.lengths import Length, parse_length

# Hot spots or scuffing end a steel, a smear of color does not: common practice, no source.
STEEL = {
    "kind": "steel", "sizes": ["1.80"], "wear limit": "1.60", "flat within": "0.15",
    "cone within": "0.24", "reject for": {"hot spots": "overheated there", "scuffing": "it tears"},
    "pass with": {"color smear": "from heat it was made for"},
}  # fmt: skip


def family(spec: dict[str, Any]) -> Family:
    return Family.model_validate(spec, context=Context("mm"))


def mm(text: str) -> Length:
    return parse_length(f"{text} mm")


def judged(
    thickness: str, flat: str | None = "0.10", cone: str | None = "0.20", found: str = ""
) -> tuple[Standing, str]:
    used = Used(
        mm(thickness), mm("0.01"), (flat and mm(flat)) or None, (cone and mm(cone)) or None,
        tuple(filter(None, found.split("+"))),
    )  # fmt: skip
    grounds = tuple(grounds_of(family(STEEL), used, "mm"))
    return standing(grounds), "; ".join(ground.words for ground in grounds)


@pytest.mark.parametrize(
    ("read", "told", "why"),
    [
        (("1.70",), "good", ""),
        (("1.60",), "good", ""),  # on its limit
        (("1.599",), "worn", "1.599 mm is under its wear limit 1.60 mm"),
        (("1.605",), "in doubt", "nearer its wear limit 1.60 mm than the gauge can tell"),
        (("1.70", "0.16"), "worn", "flatness 0.16 mm, 0.15 mm at most"),
        (("1.70", "0.15", "0.24"), "good", ""),
        (("1.70", "0.15", "0.241"), "worn", "coning 0.241 mm, 0.24 mm at most"),
        (("1.70", None), "in doubt", "its flatness is not read: 0.15 mm at most"),
        (("1.70", "0.1", "0.1", "Hot  spots"), "worn", "Hot  spots: overheated there"),
        (("1.70", "0.1", "0.1", "color smear"), "good", ""),
        (("1.70", "0.1", "0.1", "color smear+scuffing"), "worn", "scuffing: it tears"),
        (("1.70", "0.1", "0.1", "cracks"), "in doubt", "does not say what cracks means"),
    ],
)
def test_each_limit_and_each_finding_decides(read: tuple[Any, ...], told: str, why: str) -> None:
    found, words = judged(*read)
    assert (found, why in words, bool(words)) == (told, True, bool(why))


def test_a_reading_without_a_limit_is_not_called_good() -> None:
    plain = family({"kind": "steel", "sizes": ["1.80"]})
    (ground,) = grounds_of(plain, Used(mm("1.70"), mm("0.01"), flat=mm("0.01")), "mm")
    assert not ground.worn
    assert "no limit for its flatness" in ground.words
    assert not [*grounds_of(plain, Used(mm("1.70"), mm("0.01")), "mm")]


def test_the_standing_is_that_of_plain_comparisons() -> None:
    """Whole micrometres against the limits, worked out beside the code."""
    draw, seen = random.Random(6), set()  # noqa: S311 - a seeded test
    for _ in range(500):
        thick, flat, cone = draw.randint(1590, 1620), draw.randint(140, 160), draw.randint(230, 250)
        found = draw.sample(["hot spots", "color smear", "cracks"], draw.randint(0, 2))
        thick_, ten, flat_, cone_ = (Length(Fraction(n * 1000)) for n in (thick, 10, flat, cone))
        used = Used(thick_, ten, flat_, cone_, tuple(found))
        worn = thick < 1600 or flat > 150 or cone > 240 or "hot spots" in found
        doubt = 1600 < thick < 1610 or "cracks" in found
        expected = "worn" if worn else "in doubt" if doubt else "good"
        assert standing(tuple(grounds_of(family(STEEL), used, "mm"))) == expected
        seen.add(expected)
    assert seen == {"worn", "in doubt", "good"}
