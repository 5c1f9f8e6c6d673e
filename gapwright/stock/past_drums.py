"""The drums to choose stock by: from a history, from the shop's own jobs, or drawn at random.

Spaces of several packs belong together, for one drum has them all. Where they come from different
sources, they are combined at random, and only if the unit's file says that they are independent.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from itertools import accumulate
from statistics import NormalDist
from typing import TYPE_CHECKING

import inventory
from solver.stock.shelf.random_numbers import BITS, Draws
from specs.errors import InputError, Problem, listed
from specs.files.history import History
from specs.files.shelf_address import is_ledger
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from gapwright.record.former_units import FormerUnits
    from specs.files.history import Uncounted
    from specs.models.case import Case
    from specs.models.gaps import Spaces
    from specs.values.fields import Span


DRAWN = 5_000
"""Drums that are drawn where there is no history, or that histories are put together to."""
RESOLUTION = {"in": 25_400, "thou": 25_400, "mm": 10_000}
"""What a drawn space is rounded to: 0.001 in or 0.01 mm, as a shop reads."""
Row = tuple[Length | None, ...]


@dataclass(frozen=True, slots=True)
class DrumSample:
    """The drums to choose stock by, and where they come from."""

    history: History
    drawn: tuple[str, ...] = ()
    """Gaps whose spaces were drawn from what the unit file gives."""
    independent: bool = False
    """Whether spaces of different places were put together at random."""
    uncounted: tuple[Uncounted, ...] = ()
    """Kept jobs that do not count, with the reason."""


def past_of(
    case: Case, histories: Sequence[FormerUnits], seed: int, shelf: str | None = None
) -> DrumSample:
    """Collect the drums of some histories, and draw those of gaps whose spaces the unit file gives.

    Parameters
    ----------
    case
        The unit's files as read.
    histories
        Kept jobs and tables of past drums.
    seed
        The seed of all that is drawn.
    shelf
        The address of a ledger; of kept jobs only those count that it issued parts to.

    Raises
    ------
    InputError
        Where a file cannot be read, two histories have the same gap, there are no drums at all, or
        spaces come from several sources and the unit's file does not say that they are independent.
    """
    # A drum is to have its spaces of all gaps, for their parts are chosen together.
    issued = _issued(shelf) if histories else None
    found = [one.history(case, case.unit.gaps, issued) for one in histories]
    uncounted = tuple(one for history in found for one in history.uncounted)
    read = [name for history in found for name in history.columns]
    twice = sorted(name for name, times in Counter(read).items() if times > 1)
    if twice:
        sentence = f"{twice[0]} is in two histories; leave it out of one"
        raise InputError(Problem(sentence, found[-1].file, 1))
    given = {name: gap.spaces for name, gap in case.unit.gaps.items() if gap.spaces is not None}
    drawn = tuple(name for name in given if name not in read)
    file = case.origins["unit"].source.file
    found += [_drawn(case, file, name, given[name], seed) for name in drawn]
    if not found:
        sentence = "no --history, and no pack or end play of the unit has its `spaces`; give one"
        raise InputError(Problem(sentence, file))
    if len(found) == 1:
        return DrumSample(found[0], drawn, uncounted=uncounted)
    if not case.unit.independent:
        names = listed([name for history in found for name in history.columns])
        sentence = f"the spaces of {names} come from different places"
        raise InputError(
            Problem(f"{sentence}; write `independent: yes` if they do not hang together", file)
        )
    together = _together(found, seed)
    return DrumSample(together, drawn, independent=True, uncounted=uncounted)


def _together(histories: Sequence[History], seed: int) -> History:
    """Draw DRAWN drums, whose spaces come from each history independently of the others."""
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
    """Draw DRAWN drums of one gap, rounded to the resolution of the unit of length."""
    draws = Draws(seed, "spaces", name)
    step = RESOLUTION[case.length]
    space = _drawing(spaces, draws)
    rows: Counter[Row] = Counter()
    for _ in range(DRAWN):
        rows[(Length(step * round(space() / step)),)] += 1
    return History(file, (name,), rows)


def _drawing(spaces: Spaces, draws: Draws) -> Callable[[], float]:
    """Return a function that draws one more space, in nanometres."""
    if spaces.normal is not None and spaces.deviation is not None:
        middle, deviation = float(spaces.normal.nm), float(spaces.deviation.nm)
        return lambda: middle + deviation * NormalDist().inv_cdf(_between_ends(draws))
    more = spaces.sum_ or ((spaces.uniform,) if spaces.uniform else ())
    return lambda: (
        sum((_within(span, draws) for span in more), 0.0)
        - sum((_within(span, draws) for span in spaces.less), 0.0)
    )


def _between_ends(draws: Draws) -> float:
    """Draw a number between 0 and 1, both excluded."""
    parts = 1 << BITS - 12
    return (draws.below(parts) + 0.5) / parts


def _within(span: Span, draws: Draws) -> float:
    low, high = (float((end or ZERO).nm) for end in (span.low, span.high))
    return low + (high - low) * _between_ends(draws)


def _issued(shelf: str | None) -> set[str] | None:
    """Return the names of the jobs that a ledger issued parts to; None where the shelf is none."""
    if shelf is None or not is_ledger(shelf):
        return None
    with inventory.open_shelf(shelf) as ledger:
        return {entry.movement.job for entry in ledger.history(kind="issue")}


PART = 3
"""One drum in so many is held out."""


def parted(history: History, seed: int) -> tuple[History, History]:
    """Split drums at random into those to choose by, and a third that is held out.

    Every drum is as likely to be held out as any other. The same seed gives the same split.

    Notes
    -----
    Selection sampling: a drum is taken with probability (still wanted) / (still left).
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
