"""The bench page as a browser without scripts gets it: from the unit to the printed sheet."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import pytest

from gapwright.guide.pages import PAGES
from tests.gapwright.web.sent_forms import form_at

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

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


def places(text: str) -> list[str]:
    """What stands in the places of the low pack's gap."""
    return re.findall(rf'name="{LOW}/gap/at" value="([^"]*)"', text)


def test_the_front_page_lists_units_and_jobs(page: TestClient) -> None:
    text = page.get("/").text
    assert 'href="/measure?unit=unit.yaml"' in text
    for job in ("J-1042", "J-1043"):
        assert f"<b>{job}</b>" in text


def test_the_guide_is_there_without_internet(page: TestClient) -> None:
    assert 'href="/guide"' in page.get("/").text
    listed = page.get("/guide").text
    for name in PAGES:
        assert f'href="/guide/{name}"' in listed
        shown = page.get(f"/guide/{name}")
        assert shown.status_code == 200
        assert '<article class="guide">' in shown.text
    unknown = page.get("/guide/%3Cb%3E")
    assert unknown.status_code == 404
    assert 'href="/guide/bench"' in unknown.text


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
    assert "place 3: &#39;.0x&#39; has the unknown unit" in text
    assert re.findall(r'value="([^"]*)"[^>]* aria-invalid="true"', text) == [".0x"]
    assert places(text) == ["", ".018", ".0x"]


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


@pytest.mark.parametrize("path", ["/measure", "/check", "/cover"])
def test_the_units_of_length_are_a_press_of_the_form_itself(page: TestClient, path: str) -> None:
    """A link would leave behind all that was typed since the page was opened."""
    text = page.get(path, params={"unit": "unit.yaml"}).text
    nav = re.findall(r'<nav class="units".*?</nav>', text, re.DOTALL)[0]
    assert "<a " not in nav
    assert re.findall(rf'form="typed" formaction="{path}" name="lengths" value="(\w+)"', nav) == [
        "in", "mm", "thou"
    ]  # fmt: skip
    assert '<form id="typed"' in text


def test_what_is_typed_stays_at_its_place(page: TestClient) -> None:
    """A place left out, a part not told: what comes after does not move up."""
    typed = {
        f"{LOW}/trial/parts/0": "thick", f"{LOW}/trial/parts/1": "", f"{LOW}/trial/parts/2": "thin",
        f"{LOW}/trial/measured/1": ".0871", f"{LOW}/trial/measured/2": ".0691",
    }  # fmt: skip
    params = [*(LOW_DRUM | typed).items(), *gap("", ".020", "0,48 mm"), ("lengths", "mm")]
    text = page.get(f"/measure?{urlencode(params)}").text
    assert places(text) == ["", ".020 in", "0,48 mm"]
    fields = dict(form_at(text, "/fit").fields)
    wanted = {name: f"{value} in" if "measured" in name else value for name, value in typed.items()}
    assert {name: fields[name] for name in typed} == wanted


@pytest.mark.parametrize(
    ("built", "verdict", "kind"),
    [
        ([".046", ".047", ".048"], "AS WORKED OUT", "fits"),
        ([".043", ".047", ".051"], "NOT EVEN: not as worked out", "nofit"),
        (
            [".038", ".047", ".056"],
            "NOT EVEN, A PLACE OUT OF ITS WINDOW: not as worked out",
            "nofit",
        ),
    ],
)
def test_the_page_after_assembly_judges_the_worst_place(
    page: TestClient, built: list[str], verdict: str, kind: str
) -> None:
    found = [(f"{LOW}/as built/at", at) for at in built]
    text = page.get(address("/checked", *gap(".019", ".019", ".019"), *found)).text
    (heading,) = re.findall(r'<h1 class="verdict (\w+)">(.*)</h1>', text)
    assert heading[0] == kind
    assert f"</small> {verdict}; no promise was kept" in heading[1]
    assert ("reseat piston, plates and ring and read again" in text) == (kind == "nofit")


def test_a_part_that_was_measured_and_not_named_is_asked_for(page: TestClient) -> None:
    typed = LOW_DRUM | {f"{LOW}/trial/parts/1": "", f"{LOW}/trial/measured/1": ".0871"}
    for path in ("/fit", "/checked"):
        answer = page.get(path, params=typed | {f"{LOW}/gap/at": ".019"})
        assert answer.status_code == 422
        told = (
            "&#34;.0871&#34; is what a part measured that is not named; choose its size beside it"
        )
        assert told in answer.text
    answer = page.post("/api/readings", data=typed)
    assert [one["field"] for one in answer.json()["problems"]][:1] == [
        "job.gaps.low.trial.measured.1"
    ]


def test_what_is_wrong_with_a_pack_that_is_not_shown_is_said(page: TestClient) -> None:
    text = page.get(address("/fit", *gap(".018", "x"))).text
    assert "place 2: &#39;x&#39; is no length" in text
    text = page.get(address("/fit", *gap(".018", "x"), ("gap", "drive"))).text
    assert "gaps.low.gap.at.2" in text
    assert "&#39;x&#39; is no length" in text


def test_more_places_than_a_form_asks_for_are_all_shown(tmp_path: Path, page: TestClient) -> None:
    file = tmp_path / "demo" / "job.yaml"
    many = [f".0{n}" for n in range(17, 32)]
    text = file.read_text(encoding="utf-8")
    again = re.sub(r"gap: \[[^]]*\]", f"gap: [{', '.join(many)}]", text, count=1)
    assert again != text
    (tmp_path / "demo" / "many.yaml").write_text(again, encoding="utf-8")
    assert places(page.get("/measure?from=many.yaml").text) == many


@pytest.mark.face
def test_the_sheet_is_the_one_the_command_writes(page: TestClient) -> None:
    text = page.get(address("/sheet", *gap(".018", ".020", ".019"))).text
    assert "<title>gapwright bench sheet: J-9, Harrow 4</title>" in text
