"""The drums to choose by: read from a history, or drawn from the spaces that a unit file gives.

Spaces of several packs belong together, for one drum has them all. Where they come from different
places they are put together at random only if the unit says that they are independent.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import accumulate
from statistics import NormalDist
from typing import TYPE_CHECKING

from gapwright.stock.jobs_done import history_of_jobs
from solver.stock.shelf.random_numbers import BITS, Draws
from specs.errors import InputError, Problem, listed
from specs.files.history import History, read_history
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from specs.models.case import Case
    from specs.models.gaps import Spaces
    from specs.values.fields import Span

DRAWN = 5_000
"""Drums that are drawn where there is no history, or that histories are put together to."""
RESOLUTION = {"in": 25_400, "thou": 25_400, "mm": 10_000}
"""What a drawn space is rounded to: 0.001 in or 0.01 mm, as a shop reads."""
Row = tuple[Length | None, ...]


@dataclass(frozen=True, slots=True)
class Past:
    """Drums to choose by."""

    history: History
    drawn: tuple[str, ...] = ()
    """Gaps whose spaces were drawn from what the unit file gives."""
    independent: bool = False
    """Whether spaces of different places were put together at random."""


def past_of(
    case: Case, files: Sequence[Path], seed: int, unit: Path | None = None, shelf: str | None = None
) -> Past:
    """The drums of some histories and of the unit's own spaces. Raises InputError.

    A history may be a folder of job files, of which those count that a ledger issued parts to.
    """
    histories = [
        history_of_jobs(path, unit, shelf)
        if unit is not None and path.is_dir()
        else read_history(path, case.length)
        for path in files
    ]
    read = [name for history in histories for name in history.columns]
    twice = sorted(name for name, times in Counter(read).items() if times > 1)
    if twice:
        sentence = f"{twice[0]} is in two histories; leave it out of one"
        raise InputError(Problem(sentence, histories[-1].file, 1))
    given = {name: gap.spaces for name, gap in case.unit.gaps.items() if gap.spaces is not None}
    drawn = tuple(name for name in given if name not in read)
    file = case.origins["unit"].source.file
    histories += [_drawn(case, file, name, given[name], seed) for name in drawn]
    if not histories:
        sentence = "no --history, and no pack or end play of the unit has its `spaces`; give one"
        raise InputError(Problem(sentence, file))
    if len(histories) == 1:
        return Past(histories[0], drawn)
    if not case.unit.independent:
        names = listed([name for history in histories for name in history.columns])
        sentence = f"the spaces of {names} come from different places"
        raise InputError(
            Problem(f"{sentence}; write `independent: yes` if they do not hang together", file)
        )
    return Past(_together(histories, seed), drawn, independent=True)


def _together(histories: Sequence[History], seed: int) -> History:
    """Drums whose spaces are drawn from each history without regard to the others."""
    sides = []
    for history in histories:
        rows = sorted(history.rows.items(), key=str)
        upto = [*accumulate(number for _, number in rows)]
        sides.append(([row for row, _ in rows], upto, Draws(seed, "together", *history.columns)))
    found: Counter[Row] = Counter()
    for _ in range(DRAWN):
        picked = (rows[draws.one_of(upto)] for rows, upto, draws in sides)
        found[tuple(space for row in picked for space in row)] += 1
    columns = tuple(name for history in histories for name in history.columns)
    return History(histories[0].file, columns, found)


def _drawn(case: Case, file: str, name: str, spaces: Spaces, seed: int) -> History:
    """Drums of one gap, drawn."""
    draws = Draws(seed, "spaces", name)
    step = RESOLUTION[case.length]
    space = _drawing(spaces, draws)
    rows: Counter[Row] = Counter()
    for _ in range(DRAWN):
        rows[(Length(step * round(space() / step)),)] += 1
    return History(file, (name,), rows)


def _drawing(spaces: Spaces, draws: Draws) -> Callable[[], float]:
    """How to draw one more space, in nanometres."""
    if spaces.normal is not None and spaces.deviation is not None:
        middle, deviation = float(spaces.normal.nm), float(spaces.deviation.nm)
        return lambda: middle + deviation * NormalDist().inv_cdf(_between_ends(draws))
    more = spaces.sum_ or ((spaces.uniform,) if spaces.uniform else ())
    return lambda: (
        sum((_within(span, draws) for span in more), 0.0)
        - sum((_within(span, draws) for span in spaces.less), 0.0)
    )


def _between_ends(draws: Draws) -> float:
    """A number above nothing and below one."""
    parts = 1 << BITS - 12
    return (draws.below(parts) + 0.5) / parts


def _within(span: Span, draws: Draws) -> float:
    low, high = (float((end or ZERO).nm) for end in (span.low, span.high))
    return low + (high - low) * _between_ends(draws)
