"""Writing a sheet: where it goes, what it replaces, and what it needs; PDF by a real browser."""

from __future__ import annotations

import os
import re
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from gapwright.demo import write_demo
from gapwright.extras import check_extra
from gapwright.paper.pdf import BROWSERS, NAMED, find_browser, pdf_of
from gapwright.paper.sheet_file import TITLE, check_sheet_file, put_sheet
from inventory import create_shelf, open_shelf
from specs.errors import InputError
from tests.commands import DEMO, ran, refused, run
from tests.faults.test_faults_in_printing import read_only, writable

BROWSER = os.environ.get(NAMED) or next(filter(shutil.which, BROWSERS), None)
WITH_BROWSER = pytest.mark.skipif(BROWSER is None, reason="no Chromium, Chrome or Edge here")
SHEET = f"<title>{TITLE}: J-1</title>".encode()


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return write_demo(tmp_path / "demo")[0]


@pytest.mark.face
def test_a_sheet_stands_beside_its_job_and_its_exit_code_is_the_answers(job: Path) -> None:
    done = run("sheet", job)
    html = job.with_suffix(".html")
    assert done.returncode == 0, done.stderr
    assert done.stdout.decode() == f"{html}: bench sheet of J-1042, Harrow 4: FITS, proved best\n"
    assert "size: a4 portrait" in html.read_text(encoding="utf-8")
    none = run("sheet", job.parent / "job-no-fit.yaml", "--paper", "letter", "--lengths", "mm")
    assert none.returncode == 3
    page = (job.parent / "job-no-fit.html").read_text(encoding="utf-8")
    assert "size: letter portrait" in page
    assert "nearest 0.955 mm" in page


def test_a_sheet_takes_a_unit_and_a_shelf_of_its_own(job: Path, tmp_path: Path) -> None:
    text = job.read_text(encoding="utf-8").replace("unit: unit.yaml\nshelf: shelf.yaml\n", "")
    alone = tmp_path / "alone.yaml"
    alone.write_text(text, encoding="utf-8")
    unit, shelf = job.parent / "unit.yaml", job.parent / "shelf.yaml"
    done = run("sheet", alone, "--unit", unit, "--shelf", shelf, "-o", tmp_path / "x.html")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "x.html").exists()


def test_the_same_sheet_written_again_just_works(job: Path) -> None:
    html = job.with_suffix(".html")
    for _ in range(2):
        assert run("sheet", job).returncode == 0
    assert [path.name for path in job.parent.glob("*.html")] == [html.name]
    assert not list(job.parent.glob(".*"))


@pytest.mark.parametrize("name", ["mine.html", "manual.pdf"])
def test_what_is_no_sheet_is_never_written_over(tmp_path: Path, name: str) -> None:
    mine = tmp_path / name
    mine.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is there already and is no bench sheet"):
        check_sheet_file(mine)
    assert mine.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("old", [SHEET, b"%PDF\n%%EOF\n% gapwright bench sheet\n", b""])
def test_an_older_sheet_is_replaced(tmp_path: Path, old: bytes) -> None:
    file = tmp_path / "job.html"
    file.write_bytes(old)
    check_sheet_file(file)
    put_sheet(SHEET, file)
    assert file.read_bytes() == SHEET
    assert [path.name for path in tmp_path.iterdir()] == ["job.html"]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("sheet.txt", 'found ".txt"; name a sheet .html or .pdf'),
        ("sheet", "found no ending; name a sheet .html or .pdf"),
        ("folder.html", "is a folder: name a file in it"),
        ("nowhere/x.html", "cannot be written: there is no such folder; make it, or name another"),
        ("file/x.html", "cannot be written: there is no such folder; make it, or name another"),
    ],
)
def test_a_name_that_cannot_be_a_sheet_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, told: str
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("folder.html").mkdir()
    Path("file").touch()
    with pytest.raises(InputError) as error:
        check_sheet_file(Path(name))
    assert str(error.value) == f"{name}: {told}"


def test_the_name_is_looked_at_before_anything_is_solved(job: Path) -> None:
    told = 'sheet.txt: found ".txt"; name a sheet .html or .pdf'
    assert refused("sheet", "none.yaml", "-o", "sheet.txt", cwd=job.parent) == [told]
    (told,) = refused("sheet", "none.yaml", cwd=job.parent)
    assert told.startswith("none.yaml: no such file")
    (told,) = refused("sheet", "nowhere/job.yaml", cwd=job.parent)
    assert told.startswith("nowhere/job.yaml: no such file")
    assert refused("sheet", ".", cwd=job.parent) == [".: is a folder: name a file in it"]


def test_a_folder_that_cannot_be_written_is_one_sentence(job: Path, tmp_path: Path) -> None:
    shut = tmp_path / "shut"
    with read_only(shut):
        if writable(shut):
            pytest.skip("this administrator writes everywhere")
        (told,) = refused("sheet", job, "-o", "shut/x.html", cwd=tmp_path)
        assert told.startswith("shut/x.html: cannot be written: ")
        assert not list(shut.iterdir())


def test_a_full_disk_leaves_the_older_sheet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "job.html"
    file.write_bytes(SHEET)

    def full(_number: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(InputError, match="cannot be written: No space left on device"):
        put_sheet(b"new", file)
    assert file.read_bytes() == SHEET
    assert [*tmp_path.iterdir()] == [file]


@pytest.mark.parametrize("package", ["jinja2", "segno"])
def test_a_library_that_is_missing_is_one_sentence(
    package: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    check_extra("sheet")
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(InputError) as error:
        check_extra("sheet")
    assert str(error.value) == f"gapwright sheet: needs {package}: pip install 'gapwright[sheet]'"


def test_without_a_browser_one_sentence_says_how_to_print(job: Path, tmp_path: Path) -> None:
    bare = {"PATH": str(tmp_path), NAMED: ""}
    done = run("sheet", job, "-o", tmp_path / "x.pdf", settings=bare)
    assert done.returncode == 2
    (told,) = done.stderr.decode().splitlines()
    assert told.startswith(
        "a PDF needs Chromium, Chrome or Edge, and none was found: write an HTML"
    )
    assert "print it from there" in told
    assert run("sheet", job, settings=bare).returncode == 0


def test_a_browser_that_is_named_and_is_not_there_is_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv(NAMED, "no-such-browser")
    with pytest.raises(InputError, match='GAPWRIGHT_BROWSER: no such program: "no-such-browser"'):
        find_browser()


WRITES_NO_PDF = 'for a; do case $a in --print-to-pdf=*) echo no > "${a#*=}";; esac; done'


@pytest.mark.parametrize(
    ("script", "why"),
    [("exit 3", "exit 3"), ("exit 0", "exit 0"), (WRITES_NO_PDF, "exit 0")],
)
def test_a_browser_that_makes_no_pdf_is_one_sentence(tmp_path: Path, script: str, why: str) -> None:
    broken = tmp_path / "browser"
    broken.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    broken.chmod(broken.stat().st_mode | stat.S_IXUSR)
    with pytest.raises(InputError) as error:
        pdf_of("<p>x</p>", str(broken))
    assert f"this browser made no PDF ({why}): write an HTML sheet" in str(error.value)


def test_a_browser_that_cannot_be_started_is_one_sentence(tmp_path: Path) -> None:
    broken = tmp_path / "browser"
    broken.write_bytes(b"\x7fELF")
    broken.chmod(0o755)
    with pytest.raises(InputError, match="made no PDF"):
        pdf_of("<p>x</p>", str(broken))


def pages_of(pdf: bytes) -> int:
    return len(re.findall(rb"/Type ?/Page\b(?!s)", pdf))


def media_boxes(pdf: bytes) -> set[tuple[int, int]]:
    found = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    return {(round(float(wide)), round(float(high))) for wide, high in found}


@WITH_BROWSER
@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_a_drum_takes_one_page_of_the_paper_asked_for(
    tmp_path: Path, drum: str, paper: str, size: tuple[int, int]
) -> None:
    (tmp_path / "\u5e95 drum.yaml").write_text(drum.replace("J-7", "\u5e95 7"), encoding="utf-8")
    for _ in range(2):  # an older sheet is replaced
        done = run("sheet", "\u5e95 drum.yaml", "-o", "x.pdf", "--paper", paper, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
    pdf = (tmp_path / "x.pdf").read_bytes()
    assert pdf.startswith(b"%PDF")
    assert media_boxes(pdf) == {size}
    assert pages_of(pdf) == 1


@WITH_BROWSER
@pytest.mark.face
def test_no_pack_is_split_across_pages_and_the_code_reads_back(job: Path) -> None:
    pdf = job.with_suffix(".pdf")
    assert run("sheet", job, "-o", pdf).returncode == 0
    assert pages_of(pdf.read_bytes()) == 3
    if shutil.which("pdftotext"):
        pages = told_by("pdftotext", "-layout", pdf, "-").split("\f")
        assert "page 1 of 3" in pages[0]
        heads = [HEAD.findall(page) for page in pages]
        assert [name for names in heads for name in names] == [
            "low", "drive (three frictions)", "case", "overdrive", "front play", "train play",
        ]  # fmt: skip
        assert [page.count("initials") for page in pages] == [len(names) for names in heads]
    if shutil.which("pdftoppm") and shutil.which("zbarimg"):
        told_by("pdftoppm", "-r", "300", "-png", "-l", "1", pdf, pdf.parent / "x")
        (png,) = pdf.parent.glob("x*.png")
        code = told_by("zbarimg", "-q", "--raw", png)
        assert re.fullmatch(r"gapwright J-1042 [0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4}\n", code)


HEAD = re.compile(r"^(\w[\w ()]*): (?:clearance|end play)", re.MULTILINE)


def told_by(*command: str | Path) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def test_a_sheet_from_a_ledger_has_its_last_link(tmp_path: Path) -> None:
    shelf, sheet = tmp_path / "shop.db", tmp_path / "sheet.html"
    create_shelf(shelf)
    for mode in ("count", "add"):
        assert ran("shelf", "import", shelf, DEMO / "shelf.yaml", "--mode", mode).returncode == 0
    with open_shelf(shelf) as opened:
        link = opened.end()[1]
    as_of = f"shelf: {shelf}, as of link {link}"
    assert link
    assert link.number == 2
    ran("sheet", DEMO / "job.yaml", "--shelf", shelf, "-o", sheet)
    assert sheet.read_text(encoding="utf-8").count(as_of) == 1
    ran("sheet", DEMO / "job.yaml", DEMO / "job-no-fit.yaml", "--shelf", shelf, "-o", sheet)
    assert sheet.read_text(encoding="utf-8").count(as_of) == 3
    ran("sheet", DEMO / "job.yaml", "-o", sheet)
    assert "as of link" not in sheet.read_text(encoding="utf-8")
