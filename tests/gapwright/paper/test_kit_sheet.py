"""A kit's sheet as a person reads it: all that is in it, all there is to measure, all the bands."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from typing import TYPE_CHECKING

import pytest

from gapwright.demo import write_demo
from gapwright.output.template import fill_in
from gapwright.paper.job_sheet import CAUTIONS
from gapwright.paper.kit_sheet import TITLE, KitSheet, kit_sheet
from gapwright.paper.pdf import find_browser, pdf_of
from specs.files.read import read_kit
from specs.parts.kit_contents import gaps_of, held, kit_of
from tests.commands import run
from tests.gapwright.paper.test_sheet import by_class, parsed, table_of, text_of
from tests.gapwright.paper.test_sheet_file import WITH_BROWSER

if TYPE_CHECKING:
    from pathlib import Path
    from xml.etree import ElementTree as ET

DAY = date(2031, 4, 9)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("kits") / "demo")[0].parent


@pytest.fixture(scope="module")
def laid(folder: Path) -> KitSheet:
    return kit_sheet(read_kit(folder / "kit.yaml"), DAY)


def tree_of(laid: KitSheet) -> ET.Element:
    return parsed(fill_in("kit_sheet.html", sheet=laid, paper="a4", title=TITLE))


def test_every_part_stands_on_it_with_a_box(folder: Path, laid: KitSheet) -> None:
    case = read_kit(folder / "kit.yaml")
    (first, option) = (
        [text_of(item) for item in part.iter("li")]
        for part in tree_of(laid).iter("section")
        if (part.get("class") or "").startswith("fetch")
    )
    counts = [int(item.partition(" x ")[0]) for item in first]
    assert sum(counts) == held(case).total() + sum(kit_of(case).also_in_it.values())
    assert "1 x low ring .0700 0.070 in, 1.778 mm" in first
    assert "4 x piston seal" in first
    assert "1 x drive steel (separator) middle 0.082 in, 2.083 mm" in option
    boxes = [e for item in tree_of(laid).iter("li") for e in item.iter() if e.get("class") == "box"]
    assert len(boxes) >= len(first) + len(option)


def test_every_gap_has_its_window_and_its_readings(folder: Path, laid: KitSheet) -> None:
    case = read_kit(folder / "kit.yaml")
    gaps = by_class(tree_of(laid), "measured")
    assert len(gaps) == len(gaps_of(case)) == 6
    told = {name: text_of(gap) for name, gap in zip(gaps_of(case), gaps, strict=True)}
    assert "window 0.040 to 0.060, aim 0.050 in window 1.016 to 1.524, aim 1.27 mm" in told["low"]
    assert "read with frictions dry: add -0.004 in, linings swell when soaked" in told["low"]
    assert "with four frictions (drive drum deep; the splines of the shallow drum" in told["drive"]
    assert "the trial build is made without the parts that are chosen" in told["train play"]
    assert "end play" in told["front play"]
    assert "unit upright, lift the drum" in told["front play"]
    asked = {name: [row[0] for row in table_of(gap)] for name, gap in zip(told, gaps, strict=True)}
    assert asked["front play"] == ["pump depth", "gasket", "drum height"]
    (row,) = table_of(gaps[0])
    assert row[:3] == ["gap", "feeler between low plate and ring; frictions soaked", "feeler"]
    assert row[3].split() == ["1", "2", "3"]


def test_bands_options_reasons_and_cautions_stand_on_it(laid: KitSheet) -> None:
    text = text_of(tree_of(laid))
    for said in (
        "four frictions: only when the drive drum is the deep one",
        "4 x low friction : the old linings are glazed",
        "1 x pump gasket : crushed once",
        "bed in: tighten to 9 N m (80 in lb) and let go, 2 times, inch-pound torque wrench",
        "back off 2 1/4 to 2 1/2 turns",
        "screw back 0.1107 to 0.123 in (2.812 to 3.125 mm)",
        "band end 0.1661 to 0.1845 in (4.219 to 4.688 mm), 3/2 of it",
        *CAUTIONS,
    ):
        assert said in text


def test_millimetres_first_where_asked(folder: Path) -> None:
    text = text_of(tree_of(kit_sheet(read_kit(folder / "kit.yaml"), DAY, "mm")))
    assert "window 1.016 to 1.524, aim 1.27 mm window 0.040 to 0.060, aim 0.050 in" in text
    assert "screw back 2.812 to 3.125 mm (0.1107 to 0.123 in)" in text


def test_a_hostile_name_is_text(folder: Path) -> None:
    text = (folder / "kit.yaml").read_text(encoding="utf-8")
    bad = folder / "bad.yaml"
    bad.write_text(text.replace("piston seal", "<script>alert(1)</script>"), encoding="utf-8")
    laid = kit_sheet(read_kit(bad), DAY)
    assert "<script>" not in fill_in("kit_sheet.html", sheet=laid, paper="a4", title=TITLE)


@pytest.mark.face
def test_the_command_writes_it_and_replaces_only_its_own(folder: Path) -> None:
    done = run("kit", "sheet", folder / "kit.yaml", "--paper", "letter")
    html = folder / "kit.html"
    assert done.returncode == 0, done.stderr
    assert done.stdout.decode() == f"{html}: kit sheet of Harrow 4 overhaul kit, Harrow 4\n"
    assert "size: letter portrait" in html.read_text(encoding="utf-8")
    assert run("kit", "sheet", folder / "kit.yaml").returncode == 0
    bench = run("sheet", folder / "job.yaml", "-o", html)
    assert bench.returncode == 2
    assert b"kit.html: is there already and is no bench sheet" in bench.stderr
    ours = run("kit", "sheet", folder / "kit.yaml", "-o", folder / "unit.yaml")
    assert b"name a sheet .html or .pdf" in ours.stderr


def test_the_bench_sheet_has_the_bands_too(folder: Path) -> None:
    assert run("sheet", folder / "job.yaml").returncode == 0
    (bands,) = by_class(parsed((folder / "job.html").read_text(encoding="utf-8")), "bands")
    assert "lock nut to 28 N m (20.7 ft lb)" in text_of(bands)


@WITH_BROWSER
def test_no_gap_is_split_across_pages(laid: KitSheet, tmp_path: Path) -> None:
    page = fill_in("kit_sheet.html", sheet=laid, paper="a4", title=TITLE)
    file = tmp_path / "kit.pdf"
    file.write_bytes(pdf_of(page, find_browser()))
    pdftotext = shutil.which("pdftotext")
    if pdftotext is None:
        pytest.skip("no pdftotext here")
    asked = subprocess.run(
        [pdftotext, "-layout", str(file), "-"], capture_output=True, text=True, check=True
    )
    pages = asked.stdout.split("\f")[:-1]
    assert len(pages) == 2
    for page_text in pages:
        heads = re.findall(": (?:clearance|end play) ", page_text)
        assert page_text.count("initials") == len(heads)


CASED = """\
length: mm
unit:
  name: Harrow 9
  families:
    washer: {kind: washer, sizes: {a: 1.60, b: 1.90}}
    disc: {kind: friction, fixed: 2.00}
    steel: {kind: steel, sizes: {a: 1.80}}
  packs:
    fore: {window: {gap: at most 0.70, aim: 0.40, scale: 0.30}, stack: [steel, disc]}
  end plays:
    collar: {window: {gap: 21.70 to 22.10, on: height}, stack: [washer]}
    bearing: {window: -0.08 to -0.02, stack: [washer]}
    float: {window: 0.05 to 0.15, stack: [washer]}
kit: {name: one of each, contents: {washer: {a: 2, b: 1}, steel: {a: 1}, disc: 1}}
"""


def test_each_gap_is_called_what_is_measured(tmp_path: Path) -> None:
    file = tmp_path / "kit.yaml"
    file.write_text(CASED, encoding="utf-8")
    sheet = kit_sheet(read_kit(file), DAY)
    told = [text_of(gap) for gap in by_class(tree_of(sheet), "measured")]
    for name, what, text in zip(
        ("fore", "collar", "bearing", "float"),
        ("clearance", "height", "preload", "end play"),
        told,
        strict=True,
    ):
        assert name in text
        assert what in text
    assert "window 0.00 to 0.70, aim 0.40 mm" in told[0]
