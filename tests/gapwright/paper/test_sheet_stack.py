"""A stack of sheets: every job's own, and one list in front of all there is to fetch."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import TYPE_CHECKING

import pytest

from gapwright.demo import write_demo
from gapwright.fit.service import fit_case
from gapwright.fit.text import to_take
from gapwright.paper.front_page import front_of
from specs.files.read import case_of
from specs.formats.yaml import parse
from tests.commands import refused, run

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gapwright.conftest import Solve

DAY = date(2031, 4, 9)


@pytest.fixture
def two(drum: str) -> list[str]:
    return [drum, drum.replace("J-7", "J-8")]


def test_the_list_in_front_is_the_sum_of_the_jobs(solve: Solve, two: list[str]) -> None:
    reports = [solve(text) for text in two]
    front = front_of(reports, DAY)
    expected: Counter[tuple[str, str]] = Counter()
    for report in reports:
        for place, name, count in to_take(report):
            if place != "the drum":
                expected[place, name] += count
    assert {(want.place, want.name): want.count for want in front.fetch} == expected
    assert [want.jobs for want in front.fetch] == ["J-7 1, J-8 1", "J-7 1, J-8 1"]
    assert [want.place for want in front.fetch] == ["bin B3", "bin C1"]


def test_parts_of_one_bin_that_were_tried_in_two_drums_are_counted_once(
    solve: Solve, two: list[str]
) -> None:
    few = [text.replace("thick: {count: 5,", "thick: {count: 3,") for text in two]
    short = front_of([solve(text) for text in few], DAY).short
    assert "the drum: 4 x drum steel (separator) thick wanted (J-7 2, J-8 2), 3 on hand" in short


def test_jobs_that_want_more_of_a_lot_than_there_is_are_told(solve: Solve, two: list[str]) -> None:
    """Of five thick steels four are wanted, of two thin ones two, of one ring two."""
    short = front_of([solve(text) for text in two], DAY).short
    assert short == ("bin C1: 2 x drum ring .0700 wanted (J-7 1, J-8 1), 1 on hand",)
    plenty = [text.replace(".0700: {count: 1,", ".0700: {count: 2,") for text in two]
    assert front_of([solve(text) for text in plenty], DAY).short == ()


def test_parts_of_the_unit_itself_are_not_fetched(solve: Solve, drum: str) -> None:
    kept = drum.replace("gap: .041", "now: trial, gap: .070")
    assert front_of([solve(kept), solve(kept)], DAY).fetch == ()


def test_lots_of_two_shelves_are_never_added_up(two: list[str]) -> None:
    reports = [fit_case(case_of(parse(text, f"{nth}.yaml"))) for nth, text in enumerate(two)]
    front = front_of(reports, DAY)
    assert front.short == ()
    assert {want.place for want in front.fetch} == {
        f"{nth}.yaml, bin {bin_}" for nth in range(2) for bin_ in ("B3", "C1")
    }


def test_the_command_stacks_sheets_and_tells_what_is_short(tmp_path: Path, two: list[str]) -> None:
    shelf = two[0][two[0].index("shelf:") : two[0].index("job:")]
    (tmp_path / "shelf.yaml").write_text("length: in\n" + shelf, encoding="utf-8")
    for name, text in zip(("a", "b"), two, strict=True):
        text_apart = text.replace(shelf, "shelf: shelf.yaml\n").replace("J-8", "<b>J-8</b>")
        (tmp_path / f"{name}.yaml").write_text(text_apart, encoding="utf-8")
    done = run("sheet", "a.yaml", "b.yaml", "--lengths", "mm", cwd=tmp_path)
    assert done.stdout.decode().splitlines() == [
        "sheets.html: bench sheet of J-7, Harrow 4: FITS, proved best",
        "sheets.html: bench sheet of <b>J-8</b>, Harrow 4: FITS, proved best",
        "MORE THAN IS ON HAND: bin C1: 2 x drum ring .0700 wanted (J-7 1, <b>J-8</b> 1), 1 on hand",
    ]
    assert done.returncode == 3
    page = (tmp_path / "sheets.html").read_text(encoding="utf-8")
    assert page.count("<article") == 3
    assert "<b>J-8" not in page
    assert page.index("take for all") < page.index("<h1>J-7</h1>") < page.index("<h1>&lt;b&gt;J-8")
    assert page.count("low drum: clearance 1.727 mm") == 2
    alone = run("sheet", "a.yaml", cwd=tmp_path)
    assert alone.returncode == 0
    assert "take for all" not in (tmp_path / "a.html").read_text(encoding="utf-8")


def test_what_is_wrong_with_any_file_is_told_together(tmp_path: Path) -> None:
    job = write_demo(tmp_path / "demo")[0]
    told = refused("sheet", "x.yaml", job, "y.yaml", cwd=tmp_path)
    assert [line.partition(":")[0] for line in told] == ["x.yaml", "y.yaml"]
    assert not list(tmp_path.glob("*.html"))
