"""Bin labels: what they say, that nothing on them is markup, and that their codes read."""

from __future__ import annotations

import re
import sys
from html import unescape
from typing import TYPE_CHECKING

import pytest
import segno

from gapwright.drawing.qr import QUIET

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench

MODULES = 21  # a code of this few letters is of the smallest version


def sheet(bench: Bench, *words: str) -> str:
    path = bench.folder / "labels.html"
    bench.shelf("labels", *words, "-o", str(path), "--replace")
    return path.read_text(encoding="utf-8")


def drawn(svg: str) -> list[list[int]]:
    """The modules of a drawn code, its quiet zone left out: its lines run from left to right."""
    found = [[0] * MODULES for _ in range(MODULES)]
    x = y = 0
    path = re.findall(r' d="([^"]+)"', svg)[0]
    for sign, step, row in re.findall(r"([Mmh])(-?\d+)(?: (-?[\d.]+))?", path):
        if sign == "h":
            assert not any(found[y][x : x + int(step)])
            found[y][x : x + int(step)] = [1] * int(step)
            x += int(step)
        elif sign == "M":
            x, y = int(step) - QUIET, int(float(row)) - QUIET
        else:
            x, y = x + int(step), y + int(row)
    return found


def test_each_lot_on_hand_has_a_label_in_the_order_of_bins(bench: Bench) -> None:
    bench.shelf("add", "drum ring", ".0700", "2", "--bin", "C2")
    bench.shelf("add", "drum ring", ".0600", "2", "--bin", "C1", "--used", "--label", "T-7")
    bench.shelf("add", "shim", ".0100", "1", "--measured", ".0102 in")
    bench.shelf("scrap", "shim", ".0100")
    text = sheet(bench)
    assert re.findall(r'class="(?:size|bin)">([^<]*)<', text) == [".0600", "C1", ".0700", "C2"]
    assert '<p class="facts">used · T-7</p>' in text
    assert text.count("<li>") == 2
    bench.shelf("add", "shim", ".0100", "1", "--measured", ".0102 in")
    assert "0.0102 in" in sheet(bench, "shim", "--lengths", "in")
    assert sheet(bench, "shim").count("<li>") == 1


def test_the_mark_on_the_part_is_on_the_label_where_the_unit_gives_it(bench: Bench) -> None:
    from tests.gapwright.shelf.test_shelf_commands import UNIT

    bench.shelf("add", "drum ring", "A", "2")
    bench.shelf("add", "drum ring", "B", "2")
    bench.shelf("add", "shim", "B", "2")
    assert sheet(bench, "--unit", bench.write("unit.yaml", UNIT)).count("mark 1") == 1


@pytest.mark.face
def test_the_code_drawn_is_the_code_of_the_lot(bench: Bench) -> None:
    for number in range(12):
        bench.shelf("add", "drum ring", f".{600 + 2 * number}", "2")
    labels = sheet(bench).split("<li>")[1:]
    codes = {balance.split("(")[0] for balance in bench.counts()}
    assert len(labels) == len(codes) == 12
    for label in labels:
        code = re.findall(r"<p>(.{14})</p>", label)[0]
        size = MODULES + 2 * QUIET
        assert f'viewBox="0 0 {size} {size}"' in label
        wanted = segno.make(code, error="m", micro=False)
        assert drawn(label) == [[*row] for row in wanted.matrix]
        assert bench.shelf("issue", code).endswith("1 on hand")


def test_a_code_is_large_enough_to_be_read(bench: Bench) -> None:
    bench.shelf("add", "drum ring", ".0700", "2")
    width, height = re.findall(r"\.qr {[^}]*width: (\d+)mm; height: (\d+)mm", sheet(bench))[0]
    assert int(width) == int(height) >= 15
    assert 3 * 62 <= 210 - 20  # three across on the narrower of the two papers


def test_nothing_on_a_label_is_markup(bench: Bench) -> None:
    evil = '<script>alert("1")</script>&'
    bench.shelf("add", evil, f"{{{{ labels }}}} {evil}", "1", "--bin", evil, "--label", evil)
    text = sheet(bench)
    assert "<script" not in text
    assert unescape(text).count(evil) == text.count("&lt;script&gt;alert(&#34;1&#34;)") == 4
    assert "{{ labels }}" in text
    assert not re.search(r"(src|href)=|https?://(?!www\.w3\.org/2000/svg)", text)


def test_no_package_and_no_parts_are_said_in_a_sentence(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = ("-o", str(bench.folder / "labels.html"))
    assert "has nothing on hand" in bench.refused("labels", *page)
    bench.shelf("add", "drum ring", ".0700", "2")
    assert 'nothing on hand of "shim"' in bench.refused("labels", "shim", *page)
    monkeypatch.setitem(sys.modules, "segno", None)
    assert "pip install 'gapwright[labels]'" in bench.refused("labels", *page)
    assert not (bench.folder / "labels.html").exists()
