"""Every row of a batch's program is needed: without it some plan is wrong or refused."""

from __future__ import annotations

import ast
import sys
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import solver
from benchmarks.floors import floor
from solver.batch import columns, plan
from solver.engines.highs import Highs
from specs.errors import JudgeError
from tests.amounts import every
from tests.oracles.random_batches import random_batch

if TYPE_CHECKING:
    from collections.abc import Mapping

HOME = Path(solver.__file__).parent
MODULES = ("batch/model", "batch/objectives", "batch/thresholds", "engines/descent")
FLOOR = -1  # in place of a seed: drums of four packs, so that a job has a worst among several
OWN, ORDER = 88, 68  # a job contends for parts of its own; thresholds out of order mislead
SEEDS = (FLOOR, *range(60), OWN, ORDER)
LISTED, COUNTED = 5_000, 8


def sites() -> list[tuple[str, int]]:
    """Every line of these modules that adds a row."""
    return [
        (name, node.lineno)
        for name in MODULES
        for node in ast.walk(ast.parse((HOME / f"{name}.py").read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "row"
    ]


def reached(seed: int) -> list[tuple[int, bool]]:
    found = plan(floor(10, 1) if seed == FLOOR else random_batch(seed).batch).reached
    return [(one.value, one.proof != "open") for one in found]


@cache
def right(seed: int) -> list[tuple[int, bool]]:
    return reached(seed)


def bites(site: tuple[str, int], most: int) -> bool:
    row = Highs.row

    def without(
        self: Highs, expression: Mapping[int, int], low: int | None, high: int | None
    ) -> None:
        frame = sys._getframe(1)  # noqa: SLF001 - which line called is what is asked
        here = Path(frame.f_code.co_filename)
        if (here.with_suffix(""), frame.f_lineno) != (HOME / site[0], site[1]):
            row(self, expression, low, high)

    wanted = [right(seed) for seed in SEEDS]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(columns, "MOST_COLUMNS", most)
        patch.setattr(Highs, "row", without)
        try:
            return any(reached(seed) != want for seed, want in zip(SEEDS, wanted, strict=True))
        except JudgeError:
            return True


@pytest.mark.parametrize("site", every(sites()), ids=lambda site: f"{site[0]} {site[1]}")
def test_without_this_row_some_plan_is_wrong(site: tuple[str, int]) -> None:
    assert any(bites(site, most) for most in (LISTED, COUNTED))


def test_there_are_rows_to_leave_out() -> None:
    assert len(sites()) > 6
