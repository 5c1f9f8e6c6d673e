"""The page that chooses what to put into a kit."""

from __future__ import annotations

from html import unescape
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import pytest

from tests.gapwright.charts import in_page, words_in
from tests.gapwright.stock.kit.test_kit_faces import PAST, UNIT

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

    from tests.gapwright.bench import Bench

SCRIPT = "<script>alert(1)</script>"
ASKED = {"unit": "unit.yaml", "history": "past.csv", "share": "90"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "counter"
    folder.mkdir()
    (folder / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (folder / "past.csv").write_text(PAST, encoding="utf-8")
    (tmp_path / "secret.yaml").write_text(UNIT, encoding="utf-8")
    return folder


@pytest.mark.face
def test_the_kit_is_the_one_the_command_chooses(
    page: TestClient, folder: Path, bench: Bench
) -> None:
    """Word for word, with what it does for the drums that are held out."""
    text = unescape(page.get(f"/kit-chosen?{urlencode(ASKED)}").text)
    words = (str(folder / "unit.yaml"), "--history", str(folder / "past.csv"), "--share", "90")
    code, told, _ = bench.run("stock", "kit", *words)
    assert code == 0
    verdict, rest = told.split("\n", 1)
    assert "proved cheapest" in verdict
    assert "drums held out from the choice it serves" in rest
    assert f"</small> {verdict}</h1>" in text
    assert f">{rest}</pre>" in text
    drawn = words_in(in_page(page.get(f"/kit-chosen?{urlencode(ASKED)}").text))
    assert {"Cheapest kits: cost against drums served", "for low drum"} <= {*drawn}


def test_no_kit_is_told_as_such(page: TestClient) -> None:
    answer = page.get(f"/kit-chosen?{urlencode(ASKED | {'share': '99'})}")
    assert answer.status_code == 200
    assert "NO KIT of the unit&#39;s sizes serves 67 of 67 drums" in answer.text


def test_the_jobs_kept_here_are_past_drums_and_nothing_outside_is_read(
    page: TestClient, folder: Path
) -> None:
    asked = page.get("/kit").text
    assert "the jobs kept here" not in asked
    names = ["unit.yaml"] * 3 + ["../secret.yaml"]
    for nth, named in enumerate(names):
        gaps = f"{{low drum: {{trial: [thick, A], gap: .01{3 + nth}}}}}"
        text = f"length: in\nunit: {named}\njob: {{name: J-{nth}, gaps: {gaps}}}\n"
        (folder / f"J-{nth}.yaml").write_text(text, encoding="utf-8")
    (folder / "J-9.yaml").write_text("job: [\n", encoding="utf-8")
    assert '<option value="the jobs kept here"' in page.get("/kit").text
    answer = page.get(f"/kit-chosen?{urlencode(ASKED | {'history': 'the jobs kept here'})}")
    assert answer.status_code == 200, answer.text
    assert "of 3 drums clear of their limits" in answer.text
    assert "not counted: 1 job" in answer.text
    assert "J-9.yaml: J-9.yaml:1: " in answer.text


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"share": "0"}, "write percent, such as 95 or 99.5"),
        ({"share": SCRIPT}, "write percent"),
        ({"share": "9" * 5_000}, "write percent"),
        ({"unit": "../secret.yaml"}, "the files here"),
        ({"unit": "link.yaml"}, "lies outside the folder"),
        ({"unit": ""}, "the files here"),
        ({"history": "/etc/passwd"}, "the files here"),
        ({"history": "unit.yaml"}, "this file holds no job; name a job file"),
    ],
)
def test_what_cannot_be_chosen_is_said(
    page: TestClient, folder: Path, fields: dict[str, str], sentence: str
) -> None:
    (folder / "link.yaml").write_text("unit: ../secret.yaml\n", encoding="utf-8")
    answer = page.get(f"/kit-chosen?{urlencode(ASKED | fields)}")
    assert answer.status_code == 422
    assert sentence in answer.text, answer.text[:3_000]
    assert SCRIPT not in answer.text
    assert "choose the kit" in answer.text
