"""The editor of files: the same errors as the files have, at their lines; saved whole or not."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import pytest

from gapwright.output import files as paper
from gapwright.web import saved_files as kept_files
from specs.errors import InputError
from specs.files.read import read_unit_alone
from tests.gapwright.web.sent_forms import form_at

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient
    from httpx2 import Response

SCRIPT = "</textarea><script>alert(1)</script>"


def hidden(page: TestClient, name: str, path: str = "/edit?file=unit.yaml") -> str:
    return dict(form_at(page.get(path).text, "/save").fields)[name]


def save(page: TestClient, text: str, file: str = "unit.yaml", **fields: str) -> Response:
    """Send the form as a browser does: every line ends in two signs."""
    path = f"/edit?file={file}" if file else "/edit?like=unit.yaml"
    sent = {
        "key": hidden(page, "key", path), "file": file, "seen": hidden(page, "seen", path),
        "text": text.replace("\n", "\r\n"), **fields,
    }  # fmt: skip
    return page.post("/save", data=sent)


def typed(answer: Response) -> str:
    """What stands in the field of the text, as a browser reads it."""
    found = re.search(r"<textarea[^>]*>\n(.*)</textarea>", answer.text, re.DOTALL)
    assert found
    return html.unescape(found[1])


def test_what_is_saved_is_what_was_typed_comments_and_all(page: TestClient, folder: Path) -> None:
    file = folder / "unit.yaml"
    text = typed(page.get("/edit?file=unit.yaml"))
    assert text == file.read_text(encoding="utf-8")
    answer = save(page, f"# längst ±\n{text}")
    assert answer.status_code == 200
    assert "saved" in answer.text
    assert file.read_bytes() == f"# längst ±\n{text}".encode()


def test_a_file_s_own_line_ends_stay(page: TestClient, folder: Path) -> None:
    file = folder / "unit.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_bytes(text.replace("\n", "\r\n").encode())
    save(page, f"# x\n{text}")
    assert file.read_bytes() == f"# x\n{text}".replace("\n", "\r\n").encode()


@pytest.mark.face
def test_the_errors_are_those_of_the_file_each_at_its_line(page: TestClient, folder: Path) -> None:
    file = folder / "unit.yaml"
    text = file.read_text(encoding="utf-8")
    wrong = text.replace("thickness: .0880", "thickness: thick", 1).replace("window:", "windwo:", 1)
    answer = save(page, wrong)
    assert answer.status_code == 422
    assert file.read_text(encoding="utf-8") == text
    assert typed(answer) == wrong
    file.write_text(wrong, encoding="utf-8")
    with pytest.raises(InputError) as told:
        read_unit_alone(file)
    assert len(told.value.problems) == 2
    shown = html.unescape(answer.text)
    for problem in told.value.problems:
        assert f'data-line="{problem.line}"' in shown
        assert f"{problem.field}: {problem.sentence}" in shown
        assert f"<code>{wrong.split(chr(10))[problem.line - 1]}</code>" in shown


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "is empty"),
        ('unit: "x\n', "opens a quote that is not closed"),
        ("note: nothing\n", "holds no unit, no shelf, no kit and no job"),
        ("shelf: {low steel: {thick: many}}\n", "write a whole number"),
        ("length: feet\nshelf: {low steel: {thick: 1}}\n", "allowed here"),
        ("unit: &a {name: x}\n", "has an anchor"),
        (f"unit: '{SCRIPT}'\njob: {{}}\n", "no such file"),
        ("job: {}\nunit: ../secret.yaml\nshelf: shelf.yaml\n", "lies outside the folder"),
        ("unit: \x07\n", "holds an invisible character"),
    ],
)
def test_what_no_file_may_hold_is_not_saved(
    page: TestClient, folder: Path, text: str, sentence: str
) -> None:
    before = (folder / "unit.yaml").read_bytes()
    answer = save(page, text)
    assert answer.status_code == 422
    assert sentence in html.unescape(answer.text)
    assert SCRIPT not in answer.text
    assert "secret</" not in answer.text
    assert (folder / "unit.yaml").read_bytes() == before


def test_a_kit_is_edited_as_well(page: TestClient, folder: Path) -> None:
    text = (folder / "kit.yaml").read_text(encoding="utf-8")
    wrong = text.replace("contents:", "contnets:", 1)
    assert wrong != text
    assert 'did you mean "contents"?' in html.unescape(save(page, wrong, "kit.yaml").text)
    assert save(page, f"# new\n{text}", "kit.yaml").status_code == 200
    assert (folder / "kit.yaml").read_text(encoding="utf-8") == f"# new\n{text}"


def test_a_file_that_changed_meanwhile_is_left_and_what_was_typed_kept(
    page: TestClient, folder: Path
) -> None:
    seen = hidden(page, "seen")
    text = (folder / "unit.yaml").read_text(encoding="utf-8")
    theirs = f"# theirs\n{text}"
    (folder / "unit.yaml").write_text(theirs, encoding="utf-8")
    answer = save(page, f"# ours\n{text}", seen=seen)
    assert answer.status_code == 422
    assert "changed since it was opened here" in answer.text
    assert typed(answer) == f"# ours\n{text}"
    assert (folder / "unit.yaml").read_text(encoding="utf-8") == theirs


def test_a_new_file_begins_as_another_and_takes_nobody_s_place(
    page: TestClient, folder: Path
) -> None:
    text = typed(page.get("/edit?like=unit.yaml"))
    assert save(page, text, "", name="unit-7.yaml").status_code == 200
    assert (folder / "unit-7.yaml").read_text(encoding="utf-8") == text
    again = save(page, f"# other\n{text}", "", name="unit-7.yaml")
    assert "unit-7.yaml is there already" in again.text
    assert 'aria-describedby="wrong-name"' in again.text
    assert (folder / "unit-7.yaml").read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    "name", ["../x.yaml", "/srv/x.yaml", "a/b.yaml", ".x.yaml", "x.py", "", "x.yaml\x00", "..",
             "CON/..\\x.yaml", "x" * 300 + ".yaml", "-x.yaml"],
)  # fmt: skip
def test_a_new_file_has_a_plain_name_in_this_folder(
    page: TestClient, folder: Path, name: str
) -> None:
    before = sorted(folder.parent.rglob("*"))
    text = (folder / "unit.yaml").read_text(encoding="utf-8")
    answer = save(page, text, "", name=name)
    assert answer.status_code == 422
    assert "write a name such as unit-7.yaml" in answer.text
    assert sorted(folder.parent.rglob("*")) == before


@pytest.mark.parametrize(
    "name", ["../secret.yaml", "/etc/passwd", "link.yaml", "x\x00", "unit.schema", ""]
)
def test_no_file_outside_the_folder_is_opened_or_written(
    page: TestClient, folder: Path, name: str
) -> None:
    secret = folder.parent / "secret.yaml"
    (folder / "link.yaml").symlink_to(secret)
    before = secret.read_bytes()
    assert page.get("/edit", params={"file": name}).status_code == 422
    sent = {"key": hidden(page, "key"), "file": name, "text": "unit: {name: mine}\n",
            "seen": kept_files.marked(before)}  # fmt: skip
    assert page.post("/save", data=sent).status_code == 422
    assert secret.read_bytes() == before


def test_a_file_that_is_no_text_or_too_large_is_not_opened(page: TestClient, folder: Path) -> None:
    (folder / "latin.yaml").write_bytes("unit: {name: \xe9}\n".encode("latin-1"))
    (folder / "large.yaml").write_text("# " + "x" * kept_files.MOST_BYTES, encoding="utf-8")
    assert "is not UTF-8 text" in page.get("/edit?file=latin.yaml").text
    assert "is larger than 300 kB" in page.get("/edit?file=large.yaml").text
    assert save(page, "# " + "x" * 1_100_000).status_code == 413


def test_a_write_that_fails_leaves_the_file(
    page: TestClient, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: bytes, file: Path) -> None:
        raise OSError(28, "No space left on device", str(file))

    monkeypatch.setattr(kept_files, "write", full)
    text = (folder / "unit.yaml").read_text(encoding="utf-8")
    assert "cannot be written: No space left on device" in save(page, f"# x\n{text}").text
    assert (folder / "unit.yaml").read_text(encoding="utf-8") == text
    failed = save(page, text, "", name="new.yaml")
    assert "cannot be written" in failed.text
    assert not (folder / "new.yaml").exists()
    monkeypatch.setattr(kept_files, "write", paper.write)
    assert save(page, text, "", name="new.yaml").status_code == 200


def test_a_job_that_cannot_be_kept_leaves_no_empty_file(
    page: TestClient, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: bytes, file: Path) -> None:
        raise OSError(28, "No space left on device", str(file))

    form = form_at(page.get("/fit?from=job.yaml").text, "/keep")
    before = {file: file.read_bytes() for file in folder.iterdir()}
    monkeypatch.setattr(kept_files, "write", full)
    failed = page.post("/keep", data=dict(form.fields) | {"job/name": "J-77", "promise": ""})
    assert "cannot be written: No space left on device" in failed.text
    assert {file: file.read_bytes() for file in folder.iterdir()} == before
    monkeypatch.setattr(kept_files, "write", paper.write)
    assert (
        page.post("/keep", data=dict(form.fields) | {"job/name": "J-77", "promise": ""}).status_code
        == 200
    )
    assert (folder / "J-77.yaml").exists()


def test_files_that_cannot_be_read_come_first(page: TestClient, folder: Path) -> None:
    (folder / "z.yaml").write_text('unit: "x', encoding="utf-8")
    text = page.get("/files").text
    assert text.index("/edit?file=z.yaml") < text.index("/edit?file=job.yaml")
    assert "opens a quote that is not closed" in text
    assert typed(page.get("/edit?file=z.yaml")) == 'unit: "x'
