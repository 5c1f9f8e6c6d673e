"""What the page keeps is promised: in the job's file, or in its ledger; nothing else promises."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

import pytest

from gapwright.shelf.import_export import ImportOptions, import_counts
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from specs.files.notes import promised_in
from specs.files.read import read_case
from tests.gapwright.web.sent_forms import form_at
from tests.gapwright.web.test_serve_pages import LOW, LOW_DRUM, gap

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient
    from httpx2 import Response

    from specs.models.record import Promised

KEEP = "/keep"
LEDGER = {"shelf": "shop.db"}
MEASURED = ".018", ".020", ".019"


def asked(path: str, *places: str, **fields: str) -> str:
    """The address of a page for a job of the low pack alone, read at some places."""
    return f"{path}?{urlencode([*(LOW_DRUM | fields).items(), *gap(*places)])}"


def kept(page: TestClient, text: str, **more: str) -> Response:
    """Press "keep" on an answer."""
    sent: dict[str, list[str]] = {}
    for name, value in form_at(text, KEEP).fields:
        sent.setdefault(name, []).append(value)
    return page.post(KEEP, data=sent | more)


def promised(folder: Path, name: str = "job.yaml") -> Promised | None:
    return read_case(folder / name).job.promised


def with_ledger(folder: Path) -> None:
    create_shelf(str(folder / "shop.db"))
    counts = ImportOptions(folder / "shelf.yaml", "add", unit=folder / "unit.yaml")
    import_counts(str(folder / "shop.db"), counts, Author("mary"))


def noted(folder: Path, job: str = "J-9") -> list[Promised]:
    with open_shelf(str(folder / "shop.db")) as shelf:
        return [promised_in(one.note.text, "shop.db") for one in shelf.notes("promise", job)]


def test_a_file_written_by_hand_is_given_the_promise_and_stays_as_it_is(
    page: TestClient, folder: Path
) -> None:
    text = (folder / "job.yaml").read_text(encoding="utf-8") + "# mine\n"
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    files = sorted(folder.iterdir())
    shown = page.get("/fit?from=job.yaml").text
    assert "and promise this answer" in shown
    assert promised(folder) is None
    done = kept(page, shown)
    assert "as promised on" in done.text
    stands = promised(folder)
    assert stands is not None
    assert stands.answer in done.text
    lines = (folder / "job.yaml").read_text(encoding="utf-8").splitlines()
    assert [line for line in text.splitlines() if line not in lines] == []
    assert "# mine" in lines
    assert sorted(folder.iterdir()) == files


def test_a_job_of_the_page_is_kept_with_its_promise(page: TestClient, folder: Path) -> None:
    shown = page.get(asked("/fit", *MEASURED)).text
    assert kept(page, shown).status_code == 200
    first = promised(folder, "J-9.yaml")
    assert first is not None
    assert {*first.gaps} == {"low"}
    other = page.get(asked("/fit", ".024", ".024", ".024", **{"from": "J-9.yaml"})).text
    assert f"not as promised on {first.on} ({first.answer})" in other
    assert promised(folder, "J-9.yaml") == first
    assert "as promised on" in kept(page, other).text
    second = promised(folder, "J-9.yaml")
    assert second is not None
    assert second.gaps["low"].parts != first.gaps["low"].parts


def test_an_answer_that_is_another_by_now_is_not_promised(page: TestClient, folder: Path) -> None:
    shown = page.get("/fit?from=job.yaml").text
    shelf, before = folder / "shelf.yaml", (folder / "job.yaml").read_bytes()
    text = shelf.read_text(encoding="utf-8")
    rings = "{.0600: {count: 1, bin: C1}, .0700: {count: 2, bin: C2}, .0780: {count: 2, bin: C3}}"
    assert rings in text
    shelf.write_text(text.replace(rings, rings.replace("2, bin: C2", "0, bin: C2")))
    refused = kept(page, shown)
    assert refused.status_code == 422
    assert "the answer is another by now than the one that was shown" in refused.text
    assert (folder / "job.yaml").read_bytes() == before


def test_with_a_ledger_the_promise_is_kept_there(page: TestClient, folder: Path) -> None:
    with_ledger(folder)
    shown = page.get(asked("/fit", *MEASURED, **LEDGER)).text
    nobody = kept(page, shown, who="")
    assert nobody.status_code == 422
    assert not (folder / "J-9.yaml").exists()
    assert noted(folder) == []
    assert kept(page, shown, who="ann").status_code == 200
    (stands,) = noted(folder)
    assert promised(folder, "J-9.yaml") is None
    assert f"as promised on {stands.on} ({stands.answer})" in page.get("/fit?from=J-9.yaml").text


def test_reserving_promises_in_the_same_request(page: TestClient, folder: Path) -> None:
    with_ledger(folder)
    shown = page.get(asked("/fit", *MEASURED, **LEDGER)).text
    sent = dict(form_at(shown, "/reserve").fields) | {"move": "reserve", "who": "ann"}
    assert "as promised on" in page.post("/reserve", data=sent).text
    with open_shelf(str(folder / "shop.db")) as shelf:
        (note,) = shelf.notes("promise", "J-9")
        posted = {entry.key for entry in shelf.history(job="J-9")}
    assert posted == {note.key}
    assert len(noted(folder)) == 1


def test_another_job_begun_from_a_file_has_no_promise(page: TestClient, folder: Path) -> None:
    assert kept(page, page.get("/fit?from=job.yaml").text).status_code == 200
    other = page.get("/fit?from=job.yaml&job/name=J-2").text
    assert "promised</h2>" not in other
    assert kept(page, other, promise="").status_code == 200
    assert promised(folder, "J-2.yaml") is None
    assert promised(folder) is not None


def test_what_is_kept_after_assembly_promises_nothing_anew(page: TestClient, folder: Path) -> None:
    shown = page.get(asked("/fit", *MEASURED)).text
    kept(page, shown)
    first = promised(folder, "J-9.yaml")
    built = {f"{LOW}/as built/at": ".030"}
    checked = page.get(f"/checked?{urlencode({'from': 'J-9.yaml'} | built)}").text
    assert "promise" not in dict(form_at(checked, KEEP).fields)
    assert kept(page, checked).status_code == 200
    case = read_case(folder / "J-9.yaml")
    assert case.job.gaps["low"].as_built is not None
    assert case.job.promised == first != None  # noqa: E711 - both at once


@pytest.mark.parametrize("path", ["/measure", "/fit", "/sheet", "/check"])
def test_looking_at_a_job_promises_nothing(page: TestClient, folder: Path, path: str) -> None:
    before = (folder / "job.yaml").read_bytes()
    assert page.get(f"{path}?from=job.yaml").status_code == 200
    assert (folder / "job.yaml").read_bytes() == before
