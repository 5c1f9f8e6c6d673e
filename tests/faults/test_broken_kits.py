"""Kits and bands broken at random: taken or refused in sentences, and never anything else."""

from __future__ import annotations

import re
from datetime import date
from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gapwright.kit.service import needs
from gapwright.paper.kit_sheet import kit_sheet
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.parts.kit_contents import also_held, as_shelf, gaps_of, held, kit_of
from tests.amounts import share, times
from tests.faults.test_broken_files import DEMO, PIECES, SHORT, check_sentences

if TYPE_CHECKING:
    from specs.models.case import Case

UNIT, KIT = (
    SHORT.sub("", (DEMO / f"{name}.yaml").read_text(encoding="utf-8")) for name in ("unit", "kit")
)
BANDS, REST = (
    UNIT[UNIT.index("  bands:") : UNIT.index("  end plays:")],
    UNIT[: UNIT.index("  bands:")] + UNIT[UNIT.index("  end plays:") :],
)
TOKEN = re.compile(r"[\w./-]+(?: [\w./-]+)*")
WORDS = sorted({*TOKEN.findall(BANDS), *TOKEN.findall(KIT)})
MORE = ("72 in lb", "72 ft lb", "2 1/2", "3 to 2", "low ring", "hub washer", "{thick: 1}", "1 mm")
ROADS = {"taken": 0, "refused": 0}


def broken(seed: int) -> str:
    """The demo's kit and bands with one or two things deleted, exchanged, put in or doubled."""
    draw = Random(seed)  # noqa: S311 - no secret hangs on it
    parts = [BANDS, KIT]
    for _ in range(draw.choice([1, 1, 2])):
        nth = draw.choice([0, 1, 1])
        text, piece = parts[nth], draw.choice([*PIECES, *MORE])
        found = draw.choice([*TOKEN.finditer(text)])
        start, end = found.span()
        line = draw.choice(text.splitlines(keepends=True))
        parts[nth] = draw.choice(
            [
                text[:start] + piece + text[end:],
                text[:start] + draw.choice(WORDS) + text[end:],
                text[:start] + text[end:],
                text.replace(line, "", 1),
                text.replace(line, line * 2, 1),
            ]
        )
    bands, kit = parts
    return f"length: in\n{REST}{bands}{kit}"


@given(st.integers(0, 2**64))
@settings(max_examples=times(300, 25), deadline=None, suppress_health_check=list(HealthCheck))
def test_a_broken_kit_is_taken_or_refused_in_sentences_and_nothing_else(seed: int) -> None:
    try:
        case = case_of(parse(broken(seed), "kit.yaml"), needs=("unit", "kit"))
    except InputError as error:
        refused = error
    else:
        ROADS["taken"] += 1
        go_on(case)
        return
    ROADS["refused"] += 1
    check_sentences(refused, "kit.yaml")


def go_on(case: Case) -> None:
    """Go from a kit that was taken to its shelf and its sheet."""
    options = tuple(kit_of(case).options)
    sizes = held(case, options)
    assert all(count > 0 for count in (*sizes.values(), *also_held(case, options).values()))
    shelf = as_shelf(case, options).shelf
    counts = {(f, s): lots[0].count for f, lot in shelf.items() for s, lots in lot.items()}
    assert counts == {size: count for size, count in sizes.items() if size[1]}
    assert needs(case, gaps_of(case))
    laid = kit_sheet(case, date(2031, 4, 9))
    assert len(laid.gaps) == len(gaps_of(case))


def test_every_road_was_taken() -> None:
    if not sum(ROADS.values()):
        pytest.skip("the test above did not run")
    assert ROADS["taken"] > share(30) < ROADS["refused"], ROADS
