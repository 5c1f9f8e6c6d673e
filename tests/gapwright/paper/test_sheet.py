"""The bench sheet as a person reads it: all of the answer, in order, in the command's figures."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast
from xml.etree import ElementTree as ET

import pytest

from gapwright.demo import write_demo
from gapwright.fit.service import fit_job
from gapwright.fit.text import UNDECIDED, warnings
from gapwright.output.rendering import render
from gapwright.output.template import fill_in
from gapwright.paper.job_sheet import CAUTIONS, sheet_of
from solver import Fit, Undecided
from specs.files.digest import made_from
from specs.values.lengths import show

if TYPE_CHECKING:
    from gapwright.fit.report import Report
    from gapwright.paper.job_sheet import Paper
    from specs.values.lengths import LengthUnit
    from tests.gapwright.conftest import Solve

HOME = Path(__file__).parents[3]
DAY = date(2031, 4, 9)


def page_of(report: Report, unit: LengthUnit | None = None, paper: Paper = "a4") -> str:
    sheets = [sheet_of(report, DAY, unit)]
    return fill_in("sheet.html", sheets=sheets, front=None, paper=paper, title="sheet")


def parsed(page: str) -> ET.Element:
    """The page as a tree; it fails where any element is left open."""
    return ET.fromstring(page.removeprefix("<!DOCTYPE html>"))  # noqa: S314 - a page of ours


def text_of(element: ET.Element) -> str:
    return re.sub(r"\s+", " ", " ".join(element.itertext())).strip()


def by_class(tree: ET.Element, name: str) -> list[ET.Element]:
    return [element for element in tree.iter() if element.get("class") == name]


def table_of(card: ET.Element) -> list[list[str]]:
    return [[text_of(cell) for cell in row.iter("td")] for row in card.iter("tr") if row.find("td")
            is not None]  # fmt: skip


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> list[Report]:
    return [fit_job(job) for job in write_demo(tmp_path_factory.mktemp("bench") / "demo")]


@pytest.mark.parametrize("unit", ["in", "mm", "thou"])
def test_every_figure_is_the_commands(demo: list[Report], unit: LengthUnit) -> None:
    beside: LengthUnit = "in" if unit == "mm" else "mm"
    report = demo[0]
    told, other = render(report, unit), render(report, beside)
    tree = parsed(page_of(report, unit))
    cards = by_class(tree, "card")
    assert len(cards) == len(report.gaps) == 6
    for gap, card in zip(report.gaps, cards, strict=True):
        head = next(
            line for line in told.splitlines() if line.startswith((gap.name + ":", gap.name + " ("))
        )
        name, window = head.split("   ")
        said = text_of(card)
        assert said.startswith(name)
        assert window in said
        name, window = next(line for line in other.splitlines() if line.startswith(
            (gap.name + ":", gap.name + " ("))).split("   ")  # fmt: skip
        assert f"{name.partition(': ')[2]}, {window}" in said
        for row, line in zip(table_of(card), gap.steps, strict=True):
            assert row[4] == f"{show(line.thickness, unit)} {show(line.thickness, beside)}"


def test_parts_stand_in_the_order_they_go_in_with_bins_and_facing(demo: list[Report]) -> None:
    tree = parsed(page_of(demo[0]))
    low, _, case, _, front, train = map(table_of, by_class(tree, "card"))
    assert [row[1] for row in low] == [str(number) for number in range(1, 11)]
    assert low[0][2] == "low apply"
    assert low[2][2:4] == ["low steel thin", "bin B2, lot U-3, used"]
    assert low[9][2:4] == ["low ring .0700 ring gap away from the lug", "bin C2"]
    assert case[0][2] == "case spacer .1500"
    assert case[9][2] == "case cushion dished side to the piston"
    assert front[1][2] == "hub washer 1 tabs to the drum; the same one as in train play"
    assert [row[2] for row in train][1:] == [
        "tail shim .0160",
        "tail shim .0160",
        "tail shim .0240",
    ]


def test_every_selective_part_and_no_other_has_a_box_for_its_thickness(demo: list[Report]) -> None:
    tree = parsed(page_of(demo[0]))
    for gap, card in zip(demo[0].gaps, by_class(tree, "card"), strict=True):
        boxed = [
            row.get("class") == "chosen" for row in card.iter("tr") if row.find("td") is not None
        ]
        assert boxed == [line.lot is not None for line in gap.steps]


def test_what_to_fetch_is_the_commands_list(demo: list[Report]) -> None:
    told = render(demo[0]).split("\ntake\n")[1].split("\nthin steels")[0]
    listed = [text_of(item) for item in by_class(parsed(page_of(demo[0])), "fetch")[0].iter("li")]
    assert listed == [" ".join(line.split()) for line in told.splitlines()]
    assert len(listed) == 13


def test_the_check_says_between_what_how_and_in_which_state(demo: list[Report]) -> None:
    low, *_, train = by_class(parsed(page_of(demo[0])), "card")
    said = text_of(low)
    assert "check: between low plate and low ring; palm on the plate; feeler gauge" in said
    assert "as built 1 2 3 with feeler frictions soaked ring seen seated air check initials" in said
    assert "ring seen seated" not in text_of(train)
    assert "air check" not in text_of(train)
    assert "check: as the maker's manual says" in text_of(train)
    assert "out first: pump, front drum, tail housing" in text_of(train)


def test_the_sheet_runs_from_the_job_to_the_signature(demo: list[Report]) -> None:
    said = text_of(parsed(page_of(demo[0])))
    order = [
        "J-1042", "Harrow 4", "2031-04-09", "FITS, proved best", made_from(demo[0].case), "take",
        "before you start", *CAUTIONS, "low: clearance", "drive (three frictions): clearance",
        "case: clearance", "overdrive: clearance", "front play: end play", "train play: end play",
        "thin steels: 1 of 12; no fewer is possible", "built by", "checked by",
    ]  # fmt: skip
    places = [said.index(words) for words in order]
    assert places == sorted(places)


@pytest.mark.parametrize(("paper", "size"), [("a4", "a4"), ("letter", "letter")])
def test_the_paper_is_the_one_asked_for(demo: list[Report], paper: Paper, size: str) -> None:
    assert f"@page {{ size: {size} portrait; }}" in page_of(demo[0], paper=paper)


def test_a_page_asks_nothing_of_the_world(demo: list[Report]) -> None:
    page = page_of(demo[0])
    assert "default-src 'none'" in page
    assert not re.findall(r"src=(?!'data:)|href=|url\(|@import|<script|<link", page)
    assert set(re.findall(r"https?://[^'\" ]+", page)) <= {"http://www.w3.org/2000/svg"}


def test_no_fit_is_a_sheet_of_advice(demo: list[Report]) -> None:
    report = demo[1]
    tree = parsed(page_of(report))
    told = [line.strip() for line in render(report).splitlines()]
    advice = [paragraph.text for paragraph in by_class(tree, "advice")[0].iter("p")]
    start = told.index("No build from what is on hand lands every gap in its window.")
    assert advice == told[start : start + len(advice)]
    assert advice[-1] == "then: low 0.0486 in, over 99.9 % in its window"
    assert not by_class(tree, "card")
    assert not by_class(tree, "fetch")


def test_gaps_that_wait_say_how_they_are_read(demo: list[Report]) -> None:
    waiting = by_class(parsed(page_of(demo[1])), "waiting")[0]
    said = [paragraph.text or "" for paragraph in waiting.iter("p")]
    told = [line.strip() for line in render(demo[1]).splitlines()]
    start = told.index("waiting: drive, for drum depth, straightedge")
    assert said == told[start : start + len(said)]
    assert said[-1].startswith("train gap: dial indicator with neither")


def test_warnings_stand_before_the_parts(solve: Solve, drum: str) -> None:
    close = drum.replace("thin: {count: 2, bin: B3}", "thin: 0").replace(
        "{.0600: 1, .0700: {count: 1, bin: C1}, .0780: 2}", "{.0780: 2}"
    )
    for reading, begins in ((".0605", "CLOSE TO THE LIMIT"), ("[.062, .055, .072]", "READ AGAIN")):
        text = (close if begins.startswith("CLOSE") else drum).replace(".041", reading)
        report = solve(text)
        warned = by_class(parsed(page_of(report)), "warnings")[0]
        expected = [line.strip() for line in warnings(report, "in")]
        assert [paragraph.text for paragraph in warned.iter("p")] == expected
        assert expected[0].startswith(begins)
        page = page_of(report)
        assert page.index('class="warnings"') < page.index('class="fetch"')
    assert 'class="warnings"' not in page_of(solve(drum))


def test_time_that_ran_out_is_told_as_such(solve: Solve, drum: str) -> None:
    report = solve(drum)
    stopped = replace(report, answer=Undecided(report.answer.instance), gaps=(), equal=())
    tree = parsed(page_of(stopped))
    assert text_of(by_class(tree, "verdict")[0]) == "UNDECIDED, stopped early"
    assert text_of(by_class(tree, "advice")[0]) == UNDECIDED


HOSTILE = "</style><script>alert(1)</script><img src=x onerror=alert(2)> & \"q\" 'a' {{ 7*7 }}"
NAMED_BY_OTHERS = """\
length: in
unit:
  name: @A
  gauges: {@B: .001}
  facts: {@C: [@D]}
  families:
    @E: {kind: apply plate, fixed: .1000}
    @F: {kind: friction, fixed: .0800}
    @G: {kind: steel, also called: @H, sizes: {@I: .0880, thin: .0690}}
    @J: {kind: ring, sizes: [.0600, .0700, .0780]}
  packs:
    @K:
      ends: [@L, @M]
      window: {gap: .060 to .080, state: {@N: @O}}
      space: trial stack + gap
      readings: {gap: {what: plate to ring, gauge: @B}}
      note: @P
      measure: {between: [@E, @J], held: @Q, how: @R}
      reach: {weight: 1, out first: [@S]}
      layouts:
        @T:
          rank: 0
          stack:
            - @E
            - {repeat: 3, of: [@F, @G]}
            - @F
            - {part: @J, facing: @U, reach: {weight: 1, out first: [@V]}}
        @W: {rank: 1, only if: {@C: [@X]}, because: @Y, stack: [@E, @J]}
shelf:
  @G: {@I: {count: 5, bin: @Z}, thin: {count: 2, bin: @1, lot: @2}}
  @J: {.0600: 1, .0700: 1, .0780: 2}
job:
  name: @3
  note: @4
  facts: {@C: @D}
  gaps:
    @K: {trial: {layout: @T, parts: [@I, @I, @I, .0780]}, gap: .041}
"""
TOKENS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ1234"
TAGS = {
    "html", "head", "meta", "title", "style", "body", "header", "div", "p", "h1", "h2", "section",
    "ul", "li", "span", "b", "i", "br", "small", "table", "thead", "tbody", "tr", "th", "td",
    "footer", "article", "img", "svg", "text", "path", "rect", "polyline", "polygon",
}  # fmt: skip


def test_what_people_write_stays_text(solve: Solve) -> None:
    text = NAMED_BY_OTHERS.replace("facts: {@C: [@D]}", "facts: {@C: {values: [@D, @X]}}")
    for token in TOKENS:
        text = text.replace(f"@{token}", json.dumps(f"{HOSTILE} {token}"))
    report = solve(text)
    assert isinstance(report.answer, Fit)
    tree = parsed(page_of(report))
    assert {element.tag.rpartition("}")[2] for element in tree.iter()} <= TAGS
    assert not [key for element in tree.iter() for key in element.attrib if key.startswith("on")]
    shown = set(re.findall(re.escape(HOSTILE) + r" (\w)", text_of(tree)))
    assert shown == set(TOKENS) - {"X"}
    assert "alert" not in "".join(element.text or "" for element in tree.iter("style"))


def test_a_code_stands_for_the_figures_not_for_the_layout_of_the_file(
    solve: Solve, drum: str
) -> None:
    def code(text: str) -> str:
        return sheet_of(solve(text), DAY).id

    name = code(drum)
    assert re.fullmatch(r"[0-9A-Z]{4}(-[0-9A-Z]{4}){2}", name)
    assert (
        code("# a remark\n" + drum.replace("{count: 1, bin: C1}", "{count:  1, bin: C1}")) == name
    )
    changes = ((".041", ".042"), (".060 to", ".061 to"), ("J-7", "J-8"))
    changed = {code(drum.replace(*change)) for change in changes}
    assert len(changed) == 3
    assert name not in changed


def test_the_cautions_are_the_readmes_in_short() -> None:
    readme = (HOME / "README.md").read_text(encoding="utf-8")
    section = readme[readme.index("## Before you start") :]
    told = " ".join(CAUTIONS)
    for hazard in ("ring seated all round", "uard your eyes", "Never air-test", "fingers out",
                   "breaks feet", "Soak frictions", "not put right by a washer",
                   "qualified technician decide"):  # fmt: skip
        assert hazard in told
        assert hazard in " ".join(section.split())


def test_a_pack_without_a_choice_is_checked_only(solve: Solve, drum: str) -> None:
    fixed = drum.replace("sizes: {thick: .0880, thin: .0690}", "fixed: .0880")
    fixed = fixed.replace("sizes: [.0600, .0700, .0780]", "fixed: .0780")
    fixed = fixed.replace("trial: [thick, thick, thick, .0780], ", "").replace(".041", ".065")
    fixed = fixed[: fixed.index("shelf:")] + "shelf: {}\n" + fixed[fixed.index("job:") :]
    said = text_of(parsed(page_of(solve(fixed))))
    assert "Checked only: this stack has no part to choose." in said
    assert "take" not in said.split("before you start")[0]


def test_the_title_is_the_job(demo: list[Report]) -> None:
    title = cast("ET.Element", parsed(page_of(demo[0])).find("head/title"))
    assert title.text == "sheet: J-1042, Harrow 4"
