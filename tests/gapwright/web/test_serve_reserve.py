"""Parts reserved from the page: nothing a job holds is given back without its being said first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gapwright.demo import write_demo
from gapwright.shelf.import_export import ImportOptions, import_counts
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from tests.gapwright.web.sent_forms import form_at
from tests.gapwright.web.test_serve_pages import LOW, address, gap

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient
    from httpx2 import Response

FRONT = {
    "job/name": "J-9", "unit": "unit.yaml", "shelf": "shop.db", "length": "in",
}  # fmt: skip
RESERVE = "/reserve"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "demo"
    write_demo(folder)
    create_shelf(str(folder / "shop.db"))
    counts = ImportOptions(folder / "shelf.yaml", "add", unit=folder / "unit.yaml")
    import_counts(str(folder / "shop.db"), counts, Author("mary"))
    return folder


def held(folder: Path, job: str = "J-9") -> dict[str, int]:
    with open_shelf(str(folder / "shop.db")) as shelf:
        return {
            f"{one.part.family} {one.part.size}": dict(one.holders)[job]
            for one in shelf.balances() if job in dict(one.holders)
        }  # fmt: skip


def reserved(page: TestClient, text: str, **more: str) -> Response:
    """Press "reserve" on an answer."""
    return page.post(RESERVE, data=sent(text) | {"move": "reserve", "who": "ann"} | more)


def sent(text: str) -> dict[str, list[str]]:
    fields: dict[str, list[str]] = {}
    for name, value in form_at(text, RESERVE).fields:
        fields.setdefault(name, []).append(value)
    return fields


def answered(page: TestClient, *places: str, **more: str) -> str:
    return page.get(address("/fit", *gap(*places), **{"shelf": "shop.db"} | more)).text


def test_what_another_answer_would_give_back_is_said_and_asked_first(
    page: TestClient, folder: Path
) -> None:
    first = reserved(page, answered(page, ".018", ".020", ".019"))
    assert first.status_code == 200
    assert "4 parts are reserved for J-9" in first.text
    before = held(folder)
    assert before["low ring .0700"] == 1
    fresh = answered(page, ".024", ".024", ".024")
    said = "1 x low ring .0700"
    assert said in fresh
    assert "reserve these parts and give those back" in fresh
    unasked = reserved(page, fresh, **{"give back": ""})
    assert held(folder) == before
    assert "nothing was changed yet" in unasked.text
    done = reserved(page, unasked.text)
    assert "nothing was changed yet" not in done.text
    assert "give those back" not in done.text
    assert "low ring .0700" not in held(folder)
    assert sum(held(folder).values()) == 4


def test_the_same_answer_again_asks_nothing(page: TestClient, folder: Path) -> None:
    text = answered(page, ".018", ".020", ".019")
    reserved(page, text)
    again = reserved(page, text)
    assert "give those back" not in again.text
    assert sum(held(folder).values()) == 4


def test_a_fresh_form_for_other_packs_gives_nothing_back_in_silence(
    page: TestClient, folder: Path
) -> None:
    """The low pack's parts stay, though this form knows nothing of them."""
    reserved(page, answered(page, ".018", ".020", ".019"))
    before = held(folder)
    other = {
        "job/gaps/overdrive/trial/parts/0": ".0640", "job/gaps/overdrive/gap/at": ".034",
        f"{LOW}/gap/at": "",
    }  # fmt: skip
    fresh = page.get("/fit", params=FRONT | other).text
    assert "4 parts are reserved for J-9" in fresh
    asked = reserved(page, fresh, **{"give back": ""})
    assert "nothing was changed yet" in asked.text
    assert held(folder) == before


@pytest.mark.parametrize("frees", ["x", "AAAA-AAAA-AAAA/9", "/", "9" * 400, "a/" + "9" * 400])
def test_what_is_no_leave_is_none(page: TestClient, folder: Path, frees: str) -> None:
    reserved(page, answered(page, ".018", ".020", ".019"))
    before = held(folder)
    assert (
        reserved(page, answered(page, ".024", ".024", ".024"), **{"give back": frees}).status_code
        == 200
    )
    assert held(folder) == before
