"""Where the solver adds rows to its program, and a program that leaves one of them out."""

from __future__ import annotations

import ast
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import solver
from solver.engines.cp_sat import Program

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pytest

HOME = Path(solver.__file__).parent
ELSEWHERE = ("engines", "batch", "shelf")
"""Folders of the solver whose programs are not `Program`s: they have tests of their own."""


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
        if path.parent.name in ELSEWHERE:
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
