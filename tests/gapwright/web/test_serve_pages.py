"""The bench page as a browser without scripts gets it: from the unit to the printed sheet."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from gapwright.demo import write_demo
from gapwright.web.start import open_shop

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LOW = "job/gaps/low"
THICK = {f"{LOW}/trial/parts/{nth}": "thick" for nth in range(3)}
LOW_DRUM = {
    "unit": "unit.yaml", "shelf": "shelf.yaml", "length": "in", "job/name": "J-9",
    **THICK, f"{LOW}/trial/parts/3": ".0780",
}  # fmt: skip


def address(path: str, *more: tuple[str, str], **fields: str) -> str:
    return f"{path}?{urlencode([*LOW_DRUM.items(), *more, *fields.items()])}"


def gap(*places: str) -> list[tuple[str, str]]:
    return [(f"{LOW}/gap/at", place) for place in places]


@pytest.fixture
def page(tmp_path: Path) -> Iterator[TestClient]:
    write_demo(tmp_path / "demo")
    app, _ = open_shop(tmp_path / "demo")
    with TestClient(app, base_url="http://localhost") as client:
        yield client


def test_the_front_page_lists_units_and_jobs(page: TestClient) -> None:
    text = page.get("/").text
    assert 'href="/measure?unit=unit.yaml"' in text
    for job in ("J-1042", "J-1043"):
        assert f"<b>{job}</b>" in text


def test_readings_are_asked_for_with_their_conditions(page: TestClient) -> None:
    text = page.get("/measure?unit=unit.yaml&gap=low").text
    assert "feeler between low plate and ring, with feeler, at 3 places, averaged" in text
    assert "frictions soaked" in text
    assert "the gap is read here" in text
    assert text.count(f'name="{LOW}/gap/at"') == 3
    assert "drum depth" not in text


@pytest.mark.face
def test_readings_as_people_write_them_make_a_build(page: TestClient) -> None:
    answer = page.get(address("/fit", *gap(".018", "20 thou", "0,4826 mm")))
    assert answer.status_code == 200
    assert "FITS, proved best" in answer.text
    assert "low: clearance 0.0466 in" in answer.text
    assert "bin C2</b> 1 x low ring .0700" in answer.text
    assert "the stack as it stands on the bench" in answer.text


def test_no_fit_is_told_as_advice(page: TestClient) -> None:
    text = page.get("/fit?from=job-no-fit.yaml").text
    assert "NO FIT, proved" in text
    assert "ways out, each tried" in text


def test_what_cannot_be_taken_is_said_at_its_field(page: TestClient) -> None:
    answer = page.get(address("/fit", *gap("47", ".020", "")))
    assert answer.status_code == 422
    assert (
        "47.000 in is no reading of a transmission: did you mean 47.000 thou (0.047 in)"
        in answer.text
    )
    assert f'id="wrong-{LOW}/gap/at"' in answer.text
    assert 'value="47"' in answer.text


def test_the_place_that_is_wrong_is_the_one_that_is_marked(page: TestClient) -> None:
    text = page.get(address("/fit", *gap("", ".018", ".0x"))).text
    assert "place 2: &#39;.0x&#39; has the unknown unit" in text
    assert re.findall(r'value="([^"]*)"[^>]* aria-invalid="true"', text) == [".0x"]
    values = re.findall(rf'name="{LOW}/gap/at" value="([^"]*)"', text)
    assert values == [".018", ".0x", ""]


def test_what_is_settled_is_heeded(page: TestClient) -> None:
    kept = {f"{LOW}/keep/low ring": ".0780"}
    text = page.get(address("/fit", *gap(".018", ".020", ".019"), **kept)).text
    assert "NO FIT, proved" in text
    assert "you keep the low ring, .0780" in text
    measured = {"job/parts/low friction": ".0795"}
    text = page.get(address("/fit", *gap(".018", ".020", ".019"), **measured)).text
    assert "<td>0.0795 in" in text
    form = page.get(address("/measure", **kept, **measured)).text
    assert '<option value=".0780" selected>' in form
    assert 'name="job/parts/low friction" value=".0795"' in form


def test_changing_the_unit_keeps_what_was_typed_exactly(page: TestClient) -> None:
    text = page.get(address("/measure", *gap(".018", "1,19 mm"), lengths="mm")).text
    assert 'value=".018 in"' in text
    assert 'value="1,19 mm"' in text
    assert 'name="length" value="mm"' in text


@pytest.mark.face
def test_the_sheet_is_the_one_the_command_writes(page: TestClient) -> None:
    text = page.get(address("/sheet", *gap(".018", ".020", ".019"))).text
    assert "<title>gapwright bench sheet: J-9, Harrow 4</title>" in text
