"""Sheets of random jobs: each parses, lists every part in order, and says what the command says."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from gapwright.output.template import fill_in
from gapwright.paper.job_sheet import sheet_of
from solver import Fit
from specs.errors import InputError
from specs.values.lengths import show
from tests.oracles.random_jobs import LARGER, random_job

if TYPE_CHECKING:
    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.report import Report

DAY = date(2031, 4, 9)
JOBS = 80
FLOORS = {
    "fit": 25, "no fit": 25, "pack": 25, "end play": 12, "first in at the far end": 12,
    "height": 5, "open window": 3,
}  # fmt: skip


def answers() -> list[Report]:
    found = []
    for seed in range(JOBS):
        try:
            found.append(fit_case(random_job(seed, LARGER if seed % 2 else 1).case()))
        except InputError:
            continue
    return found


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def roads(gap: GapAssembly) -> list[str]:
    taken = ["pack" if gap.is_pack else "end play"]
    taken += ["height"] * (gap.on == "height")
    taken += ["open window"] * (gap.low is None or gap.high is None)
    taken += ["first in at the far end"] * (gap.first_end in ("ring", "rear"))
    return taken


def test_sheets_of_random_jobs_say_what_the_command_says() -> None:
    seen: Counter[str] = Counter()
    for report in answers():
        fits = isinstance(report.answer, Fit)
        seen["fit" if fits else "no fit"] += 1
        sheet = sheet_of(report, DAY)
        page = fill_in("sheet.html", sheets=[sheet], front=None, paper="a4", title="sheet")
        tree = ET.fromstring(page.removeprefix("<!DOCTYPE html>"))  # noqa: S314 - ours
        said = squeezed(" ".join(tree.itertext()))
        told = [squeezed(line) for line in render(report).split("\n\nSprings are")[0].splitlines()]
        drawn = r"(tight|low) \[|--|\d+ [=:#>~-]+ |take$"
        missing = [line for line in told[1:] if not re.match(drawn, line)
                   and not all(piece in said for piece in line.split(" window "))]  # fmt: skip
        assert missing == []
        rows = [row for row in tree.iter("tr") if row.find("td") is not None]
        lines = [line for gap in report.gaps for line in gap.steps]
        assert len(rows) == len(lines)
        for row, line in zip(rows, lines, strict=True):
            cells = [squeezed(" ".join(cell.itertext())) for cell in row.iter("td")]
            assert cells[1] == str(line.number)
            assert cells[4].startswith(show(line.thickness, report.case.length))
        seen.update(road for gap in report.gaps for road in roads(gap))
    assert all(seen[road] >= floor for road, floor in FLOORS.items()), seen
