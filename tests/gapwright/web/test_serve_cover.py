"""The counter's page: what a kit serves, its holes by name, and what is typed wrongly."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

import pytest

from tests.gapwright.charts import in_page, words_in
from tests.gapwright.cover.test_cover_faces import KIT, PAST, UNIT

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

PAST_DRUMS = "\"low <drum> & 'co'\",count\n" + PAST.partition("\n")[2]
SCRIPT = "<script>alert(1)</script>"
ASKED = {"unit": "unit.yaml", "shelf": "kit.yaml", "length": "in"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "counter"
    folder.mkdir()
    for name, text in (("unit.yaml", UNIT), ("kit.yaml", KIT), ("past.csv", PAST_DRUMS)):
        (folder / name).write_text(text, encoding="utf-8")
    (tmp_path / "secret.yaml").write_text(KIT, encoding="utf-8")
    return folder


def covered(page: TestClient, **fields: str) -> str:
    answer = page.get(f"/covered?{urlencode(ASKED | fields)}")
    assert answer.status_code == 200, answer.text
    return answer.text


def test_units_kits_and_past_drums_are_offered(page: TestClient) -> None:
    text = page.get("/cover").text
    for offered in ("unit.yaml", "kit.yaml", "past.csv"):
        assert f'<option value="{offered}"' in text
    assert "secret" not in text


@pytest.mark.face
def test_each_hole_is_named_with_what_would_close_it(page: TestClient) -> None:
    text = covered(page)
    assert "<p><b>2 holes</b></p>" in text
    assert "<li>0.417 to 0.423 in; 1 x drum ring .0800 more would close it</li>" in text
    assert any("hole 2: 0.417 to 0.423 in" in words for words in words_in(in_page(text)))
    assert "thin steels are needed:" in text
    assert "<td>0.424 to 0.432 in</td>" in text


def test_one_touch_shows_it_in_millimetres(page: TestClient) -> None:
    text = covered(page, lengths="mm", first=".38", last=".44")
    assert "10.592 to 10.744 mm; 1 x drum ring .0800 more would close it" in text
    assert "first=.38%20in" in text  # what was typed in inches stays what it was


def test_past_drums_lie_in_the_picture(page: TestClient) -> None:
    words = words_in(in_page(covered(page, history="past.csv")))
    assert "past drums: 8 of 12 are served" in words


def test_a_kit_file_is_a_kit_too(page: TestClient, folder: Path) -> None:
    contents = (
        "kit: {name: K, contents: {drum steel: {thick: 2, thin: 1}, drum ring: {.0880: 1}}}\n"
    )
    (folder / "packed.yaml").write_text(
        f"length: in\nunit: unit.yaml\n{contents}", encoding="utf-8"
    )
    assert '<option value="packed.yaml"' in page.get("/cover").text
    text = covered(page, shelf="packed.yaml")
    assert "what packed.yaml serves" in text
    assert "served: " in text


def test_a_unit_s_names_cannot_become_markup(page: TestClient) -> None:
    text = covered(page) + page.get("/cover?unit=unit.yaml").text
    assert "low &lt;drum&gt; &amp; &#39;co&#39;" in text
    assert "<drum>" not in text


@pytest.mark.parametrize(
    ("fields", "sentence", "field"),
    [
        ({"first": "much"}, "is no length", "first"),
        ({"step": SCRIPT}, "is no length", "step"),
        ({"step": "-.001"}, "write a step above nothing", ""),
        ({"first": ".4", "last": ".3"}, "there is nothing", ""),
        ({"step": "0.00001", "first": ".1", "last": ".9"}, "write a coarser --step", ""),
        ({"gap": "hgih"}, "low &lt;drum&gt;", ""),
        ({"unit": "../secret.yaml"}, "the files here", ""),
        ({"shelf": "../secret.yaml"}, "the files here", ""),
        ({"history": "/etc/passwd"}, "the files here", ""),
        ({"history": "unit.yaml"}, "this file holds no job; name a job file", ""),
        ({"first": "9" * 5_000}, "it is longer than any", "first"),
    ],
)
def test_what_cannot_be_covered_is_said(
    page: TestClient, fields: dict[str, str], sentence: str, field: str
) -> None:
    answer = page.get(f"/covered?{urlencode(ASKED | fields)}")
    assert answer.status_code == 422
    assert sentence in answer.text, answer.text
    assert SCRIPT not in answer.text
    if field:
        assert f'id="wrong-{field}"' in answer.text
    assert "show what it serves" in answer.text


def test_a_unit_with_faults_is_told_with_its_line(page: TestClient, folder: Path) -> None:
    (folder / "unit.yaml").write_text(UNIT.replace(".0880", "thick"), encoding="utf-8")
    answer = page.get(f"/covered?{urlencode(ASKED)}")
    assert answer.status_code == 422
    assert "unit.yaml:6: unit.families.drum steel.sizes.thick" in answer.text
