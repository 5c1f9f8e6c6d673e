"""A program whose searches hold columns near a relaxation finds what another engine finds."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING, Any

from solver.engines.cp_sat import Program
from solver.engines.descent import descend, one_by_one
from solver.engines.highs import Highs
from solver.engines.limits import Clock, Limits

if TYPE_CHECKING:
    import pytest

    from solver.engines.descent import Descent
    from solver.engines.expressions import Expression
    from solver.engines.interface import Door

GROUPS, COLUMNS, LEVELS = 8, 6, 3


def drawn(rng: Random, program: Door) -> list[Expression]:
    """Some builds for each of some groups, a tight stock, and what each build counts on a level."""
    uses: dict[int, Expression] = {part: {} for part in range(3)}
    levels: list[Expression] = [{} for _ in range(LEVELS)]
    for _ in range(GROUPS):
        members = rng.randint(1, 4)
        columns = [program.integer(0, members) for _ in range(COLUMNS)]
        spare = program.integer(0, members)  # members that are not built
        program.row(dict.fromkeys([*columns, spare], 1), members, members)
        levels[0][spare] = 1
        for column in columns:
            for use in uses.values():
                use[column] = rng.randint(0, 4)
            for level in levels[1:]:
                level[column] = rng.randint(0, 30)
    for use in uses.values():
        program.row(use, None, rng.randint(15, 30))
    return levels


def descent(seed: int, program: Door) -> Descent:
    levels = drawn(Random(seed), program)  # noqa: S311 - no secret hangs on it
    return descend(program, one_by_one(*levels), Clock(Limits(60)))


def test_the_narrowest_search_misleads_none(monkeypatch: pytest.MonkeyPatch) -> None:
    nearby, narrow = vars(Highs)["_nearby"], 0

    def counted(self: Highs, relaxed: Any, rounded: Any, split: Any) -> Any:  # noqa: ANN401 - arrays
        nonlocal narrow
        for nth, (aside, held) in enumerate(nearby(self, relaxed, rounded, split)):
            narrow += not nth and bool(held.any())
            yield aside, held

    monkeypatch.setattr(Highs, "_nearby", counted)
    monkeypatch.setattr("solver.engines.highs.SHORT", COLUMNS + 1)  # what ties all is no short row
    for seed in range(40):
        found, other = descent(seed, Highs()), descent(seed, Program())
        assert found.status == "optimal"
        assert [one.value for one in found.reached] == [one.value for one in other.reached]
    assert narrow > 25  # that hold columns above 0, which no wider search does
