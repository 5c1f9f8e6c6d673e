"""Parts a history into drums to choose by and a third that is kept from every choice."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from solver.stock.shelf.random_numbers import Draws

if TYPE_CHECKING:
    from specs.files.history import History
    from specs.values.lengths import Length

PART = 3


def parted(history: History, seed: int) -> tuple[History, History]:
    """The drums to choose by, and every third, drawn at random: the same for the same seed.

    Every drum is as likely to be held out as any other, whatever row it was counted into.
    """
    draws = Draws(seed, "held out")
    left = history.rows.total()
    wanted = left // PART
    kept: Counter[tuple[Length | None, ...]] = Counter()
    out: Counter[tuple[Length | None, ...]] = Counter()
    for row in sorted(history.rows, key=str):
        number = 0
        for _ in range(history.rows[row]):
            taken = draws.below(left) < wanted
            number, wanted, left = number + taken, wanted - taken, left - 1
        kept[row] += history.rows[row] - number
        out[row] += number
    return replace(history, rows=+kept), replace(history, rows=+out)
