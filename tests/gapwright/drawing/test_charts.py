"""Charts: one figure in three kinds of file, the same bytes again, and no word lost."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import pytest

from gapwright.drawing.figure import Chart, check_picture
from specs.errors import InputError
from tests.gapwright.charts import words_in

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.drawing.figure import Column

NAME = "low <drum> & '$x$', 9 \u00b0C"


def paint(column: Column) -> None:
    column.skip(4)
    column.line(NAME)
    column.axes(20).plot([0.061, 0.069], [0, 1])


CHART = Chart(NAME, 100, 40, paint)


@pytest.mark.parametrize(
    ("ending", "begins"),
    [("svg", b"<?xml"), ("png", b"\x89PNG"), ("pdf", b"%PDF"), ("PNG", b"\x89PNG")],
)  # fmt: skip
def test_a_chart_is_what_the_ending_of_its_file_says(
    ending: str, begins: bytes, tmp_path: Path
) -> None:
    file = tmp_path / f"chart.{ending}"
    check_picture(file)
    CHART.save(file)
    assert file.read_bytes().startswith(begins)


@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
def test_the_same_chart_gives_the_same_bytes(kind: str) -> None:
    assert CHART.drawn(kind) == CHART.drawn(kind)


def test_words_stay_words_whatever_is_in_them() -> None:
    assert NAME in words_in(CHART.drawn())
    assert "alt='low &lt;drum&gt; &amp; &#x27;$x$&#x27;, 9 \u00b0C'" in CHART.image()


def test_without_the_extra_a_picture_is_refused_with_what_to_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    monkeypatch.setattr("gapwright.extras.find_spec", lambda _: None)
    with pytest.raises(InputError, match=r"needs matplotlib: pip install 'gapwright\[pictures\]'"):
        check_picture(tmp_path / "chart.svg")


@pytest.mark.parametrize("name", ["chart", "chart.gif"])
def test_another_ending_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"name a picture \.svg, \.png or \.pdf"):
        check_picture(tmp_path / name)
