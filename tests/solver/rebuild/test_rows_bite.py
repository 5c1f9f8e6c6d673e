"""Every row of the program is needed: with it left out, some job gets a wrong answer.

A wrong answer is one that brute force, the judge or the model itself refuses. So a row that went
missing in a change of the code would be seen. The rows are found by reading the solver's own
code, so that a new one is asked for here without anybody thinking of it.
"""

from __future__ import annotations

import ast
import sys
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import solver
from gapwright.stock.kit.service import kit_case
from inventory import catalogue, on_hand
from solver import Fit, Limits, instance_of
from solver.builds import patterns
from solver.engines.cp_sat import Program
from solver.engines.limits import Clock
from solver.explain.aim_costs import costs_of
from solver.explain.conditions import conditions_of
from solver.explain.conflict import MOST, reason_of, smallest_reason
from solver.explain.ways_out import cheapest
from solver.problem import gaps
from solver.stock import joint_demand as joint
from specs.errors import JudgeError
from tests.amounts import every
from tests.oracles.against_brute import brute_of, differences, solve, tried_job
from tests.oracles.brute_alternatives import cost_differences, equal_differences, with_few_aims
from tests.oracles.brute_stock import KitJob
from tests.oracles.jobs_by_hand import (
    ABSENT,
    FEWER,
    ONE_SHIM,
    RIVALS,
    WANTING,
    case_from,
    tried_by_hand,
)
from tests.oracles.kept_conditions import unfits
from tests.oracles.random_jobs import plentiful, random_job

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

HOME = Path(solver.__file__).parent
ELSEWHERE = ("engines", "batch", "shelf")
"""Folders of the solver whose programs are not `Program`s: they have tests of their own."""
DESCENT = HOME / "engines" / "descent.py"  # of whatever program


@dataclass(frozen=True, slots=True)
class Site:
    """One call that adds a row or asks for one of several booleans."""

    module: str
    function: str
    nth: int
    """Which of its function's calls it is, from 1."""
    line: int

    def __str__(self) -> str:
        return f"{self.module} {self.function} {self.nth}"


def sites() -> list[Site]:
    """Every call site of a row in the solver; what a door makes of one is its own affair."""
    found = []
    for path in sorted(HOME.rglob("*.py")):
        if path.parent.name in ELSEWHERE and path != DESCENT:
            continue
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(function, ast.FunctionDef):
                calls = sorted(call.lineno for call in _calls(function))
                found += [
                    Site(path.stem, function.name, nth, line)
                    for nth, line in enumerate(calls, start=1)
                ]
    return found


def _calls(function: ast.FunctionDef) -> Iterator[ast.Call]:
    for node in ast.walk(function):
        called = node.func if isinstance(node, ast.Call) else None
        if isinstance(called, ast.Attribute) and called.attr in ("row", "one_of"):
            assert isinstance(node, ast.Call)
            yield node


def leave_out(site: Site, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Leave out the rows of one call site; the list counts them."""
    left: list[int] = []
    row, one_of = Program.row, Program.one_of

    def here() -> bool:
        frame = sys._getframe(2)  # noqa: SLF001 - which line called is what is asked
        code = frame.f_code
        at = Path(code.co_filename).stem, code.co_name
        same = at == (site.module, site.function) and frame.f_lineno == site.line
        left.extend([1] * same)
        return same

    def without_row(
        self: Program, expression: Mapping[int, int], low: int | None, high: int | None
    ) -> None:
        if not here():
            row(self, expression, low, high)

    def without_one_of(self: Program, variables: list[int]) -> None:
        if not here():
            one_of(self, variables)

    monkeypatch.setattr(Program, "row", without_row)
    monkeypatch.setattr(Program, "one_of", without_one_of)
    return left


SEEDS = range(130)
NEEDLESS = {
    "counts _slots 3": "shims at one place in order of rank: the tie-break asks for that order too",
    "kit cost_at_least 1": "tells what is proved, so that the proof of the whole is shorter",
}
SITES = [site for site in sites() if str(site) not in NEEDLESS]
LISTED = ("patterns", "kit")  # modules that work on listed gaps
OF_EQUAL_BUILDS = ("_searched", "shut_out", "_differs")
OF_PURCHASES = ("cheapest",)
OF_COSTS = ("ask_better",)
OF_REASONS = ("_fewest",)


def wrong_answers() -> Iterator[bool]:
    """For one job after the other, whether its answer is wrong."""
    for text in (RIVALS, ABSENT, ONE_SHIM, FEWER):
        asked = tried_by_hand(text)
        yield bool(differences(asked, solve(asked.case)))
    for seed in SEEDS:
        found = tried_job(seed)
        if found is not None:
            yield bool(differences(found, solve(found.case)))


def wrong_equal_builds() -> Iterator[bool]:
    """For one job after the other, whether the builds said to be as good are wrong."""
    for seed in SEEDS:
        case = with_few_aims(seed)
        brute = brute_of(case)
        answer = solve(case) if brute else None
        if brute is not None and isinstance(answer, Fit):
            for index in range(len(answer.build)):
                yield bool(equal_differences(brute, answer, index, listed=False)[0])


def wrong_purchases() -> Iterator[bool]:
    """Whether the parts to buy are not the cheapest, or those without them, or with another."""
    case = case_from(WANTING)
    instance = instance_of(case, (*on_hand(case, ("low drum",)), *catalogue(case)), ("low drum",))
    thin, ring = (
        next(n for n, one in enumerate(instance.choices) if one.size == size)
        for size in ("thin", "C")
    )
    for asked, best in (
        ({}, thin),
        ({"shut_out": [((thin, 1),)]}, ring),
        ({"needs": [ring]}, ring),
    ):
        yield cheapest(instance, Clock(Limits()), **asked) != ((best, 1),)


def wrong_costs() -> Iterator[bool]:
    """For one job after the other, whether what its aims cost is wrong."""
    for seed in SEEDS:
        case = plentiful(random_job(seed))
        brute = brute_of(case)
        found = solve(case) if brute else None
        if brute is not None and isinstance(found, Fit):
            yield bool(cost_differences(brute, found, costs_of(found, Clock(Limits()))))


def wrong_reasons() -> Iterator[bool]:
    """Whether the fewest conditions that cannot hold together are not found."""
    for seed in SEEDS:
        for job in unfits([seed], []):
            clock = Clock(Limits(seconds=1))
            reason = reason_of(job.instance, job.answer.alone, clock)
            few = len(conditions_of(job.instance)) <= MOST
            yield smallest_reason(job.instance, reason, clock).smallest != few


def wrong_kits() -> Iterator[bool]:
    """Whether a kit is wrong, of gaps joined or each by itself."""
    for ways in (joint.MOST_WAYS, 0):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(joint, "MOST_WAYS", ways)
            yield from wrong_kits_now()


def wrong_kits_now() -> Iterator[bool]:
    """For one unit after the other, whether its kit is not the cheapest, or serves too few."""
    for seed in range(40):
        job = KitJob(seed)
        report = kit_case(job.case(), job.history, Fraction(6, 10))
        told = [(job.cost(kit), -job.served(kit)) for kit in job.kits()]
        enough = [(cost, served) for cost, served in told if -served >= report.wanted]
        kit = report.kit
        if (kit is None) == bool(enough):
            yield True
        elif kit is not None:
            yield (kit.cost // 10_000, -kit.served) != min(enough)
            for point in report.frontier:
                yield point.served != max(-n for c, n in told if c <= point.cost // 10_000)


def wrong(site: Site) -> Iterator[bool]:
    """What may be wrong where a row is left out."""
    if site.module == "kit":
        return wrong_kits()
    for functions, asked in (
        (OF_EQUAL_BUILDS, wrong_equal_builds),
        (OF_PURCHASES, wrong_purchases),
        (OF_COSTS, wrong_costs),
        (OF_REASONS, wrong_reasons),
    ):
        if site.function in functions:
            return asked()
    return wrong_answers()


def bites(site: Site, most: int) -> bool:
    """Whether some answer is wrong while a row is left out."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(patterns, "MOST_PATTERNS", most)
        left = leave_out(site, patch)
        try:
            return any(wrong(site))
        except (JudgeError, AssertionError, RuntimeError):
            return bool(left)


@pytest.mark.parametrize("site", every(SITES), ids=str)
def test_without_this_row_some_answer_is_wrong(site: Site) -> None:
    ways = (5_000, 0) if site.module in LISTED else (0, 5_000)
    assert any(bites(site, most) for most in ways)


@pytest.mark.exhaustive
def test_with_all_rows_no_answer_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", 0)
    assert not any(wrong_answers())
    assert not any(wrong_equal_builds())
    assert not any(wrong_purchases())
    monkeypatch.undo()
    assert not any(wrong_kits())


def test_the_rows_left_out_are_rows_that_are_there() -> None:
    names = [str(site) for site in sites()]
    assert len(names) == len(set(names))
    assert NEEDLESS.keys() <= set(names)
    assert len(names) > 42


@pytest.mark.parametrize("name", ["bisect_left", "bisect_right"])
def test_without_an_end_of_the_window_some_listed_filling_is_wrong(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = {"bisect_left": lambda *_: 0, "bisect_right": lambda sums, *_: len(sums)}
    monkeypatch.setattr(gaps, name, every[name])
    with pytest.raises(JudgeError, match="outside its window"):
        assert not any(wrong_answers())
