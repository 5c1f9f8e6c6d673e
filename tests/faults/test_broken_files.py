"""The demo broken at random: taken or refused in sentences, and never anything else."""

from __future__ import annotations

import re
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import on_hand
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.job_gap import JobGap
from specs.values.lengths import ZERO
from tests.amounts import share, times

if TYPE_CHECKING:
    from specs.models.case import Case

DEMO = Path(__file__).parents[2] / "gapwright" / "demo"
SHORT = re.compile(r"(?m)^(#|length|unit: |shelf: ).*\n")
TEXT = "length: in\n" + "".join(
    SHORT.sub("", (DEMO / f"{name}.yaml").read_text(encoding="utf-8"))
    for name in ("unit", "shelf", "job")
)
TOKENS = [found.span() for found in re.finditer(r"[\w./-]+(?: [\w./-]+)*", TEXT)]
WORDS = sorted({TEXT[start:end] for start, end in TOKENS})
NUMBERS = [word for word in WORDS if word.startswith(".")]
LINES = sorted(set(TEXT.splitlines(keepends=True)))
PIECES = [
    *("", " ", "\n", "\t", ":", ": ", "- ", *"[]{},\"'#|>&*!~?"),
    *("no", "yes", "null", "0", "-1", "99", "1e9", "nan", "66", "'1,68'", "1 mm", "at least 0"),
    *("[]", "{}", "''", "[a, b]", "{a: b}", "trial", "old", "none", "now", "gap", "one side"),
    *("height", "steel", "shim", "0 to 3", "repeat", "of", "\u0660", "\u2212", "\u00a0"),
    *("\u202e", "\x00", "\ud83d", "\U0001f600", "x" * 70, "1/3", "thinnest", "at most .05"),
]
QUICK = settings(max_examples=times(1_500), deadline=None, suppress_health_check=list(HealthCheck))


def broken(seed: int) -> str:
    """The demo with one to three things deleted, exchanged, put in or doubled."""
    draw, text = Random(seed), TEXT  # noqa: S311 - no secret hangs on it
    for _ in range(draw.choice([1, 1, 1, 2, 3])):
        at, piece, line = draw.randrange(len(text)), draw.choice(PIECES), draw.choice(LINES)
        start, end = draw.choice(TOKENS)
        text = draw.choice(
            [
                text[:start] + piece + text[end:],
                text[:start] + draw.choice(WORDS) + text[end:],
                text[:start] + draw.choice(NUMBERS) + text[end:],
                text[:start] + text[end:],
                text[:at] + piece + text[at:],
                text[:at] + text[at + draw.randint(1, 9) :],
                text.replace(line, "", 1),
                text.replace(line, line * 2, 1),
            ]
        )
    return text


def go_on(case: Case) -> None:
    """Go from a case that was taken all the way to the numbers the solver sees."""
    solved = tuple(name for name in case.unit.gaps if not JobGap(case, name).missing())
    assert all(lot.count > 0 for lot in on_hand(case, solved))
    for name in solved:
        for layout in JobGap(case, name).layouts:
            assert JobGap(case, name).space(layout).tells >= ZERO
            JobGap(case, name).trial_gap(layout)


def check_sentences(refused: InputError, file: str) -> list[str]:
    """A line for each problem, none twice and not too many, each of them of the file."""
    told = str(refused).split("\n")
    assert 1 <= len(told) == len(refused.problems) == len(set(told)) <= 21
    assert all(one.file == file and one.sentence for one in refused.problems[:20])
    return told


def test_the_whole_demo_is_taken() -> None:
    go_on(case_of(parse(TEXT, "demo.yaml")))


ROADS = {"read": 0, "taken": 0, "refused": 0}


@given(st.integers(0, 2**64))
@QUICK
def test_a_broken_file_is_taken_or_refused_in_sentences_and_nothing_else(seed: int) -> None:
    try:
        source = parse(broken(seed), "demo.yaml")
        ROADS["read"] += 1
        case = case_of(source)
    except InputError as error:
        refused = error
    else:
        ROADS["taken"] += 1
        go_on(case)
        return
    ROADS["refused"] += 1
    told = check_sentences(refused, "demo.yaml")
    assert max(map(len, told)) < 700


def test_every_road_was_taken() -> None:
    if not sum(ROADS.values()):
        pytest.skip("the test above did not run")
    enough = share(500)  # of 1,500 about 640 are read, give or take 25
    assert ROADS["read"] > enough < ROADS["refused"], ROADS
    assert ROADS["taken"] > share(100), ROADS
