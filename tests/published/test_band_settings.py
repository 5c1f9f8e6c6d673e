"""Band settings as a manual prints them, on our sheet in our own words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, cast

import pytest
from scipy import constants

from gapwright.paper.bands import band_cards
from specs.files.parse import parse_file
from specs.formats.yaml import read
from specs.models.bands import band_findings
from tests.published.printed import PUBLISHED

if TYPE_CHECKING:
    from specs.models.unit import Unit

FOOT_POUND, INCH_POUND = constants.lbf * constants.foot, constants.lbf * constants.inch


@pytest.fixture
def unit() -> Unit:
    taken = parse_file(read(PUBLISHED / "bands.yaml"))
    assert not taken.problems
    return cast("Unit", taken.file.unit)


def test_the_kickdown_band_is_set_as_printed(unit: Unit) -> None:
    """Hyundai, Sonata V6 1998, Band Apply Servo: Adjustments."""
    band = unit.bands["kickdown band"]
    assert not [*band_findings((), band)]
    (card,) = band_cards(unit, "mm")
    assert [re.sub(r" \(.*?\)", "", step) for step in card.steps] == [
        "bed in: tighten to 10 N m and let go, 2 times",
        "tighten to 5 N m",
        "back off 2 to 2 1/4 turns",
        "hold the screw there; lock nut to 29 N m",
    ]
    assert card.travel == ()  # no pitch is printed, so no travel is claimed


def test_the_other_unit_printed_is_the_constants(unit: Unit) -> None:
    """The manual's own 3.6 ft lb is cut off, not rounded: 5 N m are 3.69 by scipy's constants."""
    (card,) = band_cards(unit, "mm")
    beside = [re.search(r"\(([\d.]+) (in|ft) lb\)", step) for step in card.steps]
    figures = [(float(found[1]), found[2]) for found in beside if found]
    for newtons, (figure, unit_) in zip((10, 5, 29), figures, strict=True):
        exact = newtons / (INCH_POUND if unit_ == "in" else FOOT_POUND)
        assert figure == pytest.approx(exact, abs=0.51 if unit_ == "in" else 0.051)
    assert 3.6 < 5 / FOOT_POUND < 3.7
