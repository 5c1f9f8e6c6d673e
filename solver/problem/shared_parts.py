"""Shared parts: one part that lies in several gaps at once, such as a washer between two of them.

Each of its gaps is the smaller by it. But it is one part: all gaps that hold it hold the same
choice, it leaves the stock once, a rule over the job counts it once, and it goes in or comes out
once. So what is listed or counted of a single gap keeps its shared parts apart, and this module
says how the gaps of a job are put together. A layout has at most one place for a shared part
(`GridPlace.shared` says which it is), and the place takes exactly one; the checks of a unit file
see to both.

The judge (solver/problem/judge.py) works all of this out for itself, on purpose.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from solver.engines.expressions import CONSTANT, Expression, add, gather, scale

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from solver.problem.gaps import GridGap, GridLayout

Share = tuple[int, int]
"""A shared part, by its index in the instance, and its choice."""
Uses = dict[int, Expression]
"""For each choice, a number of parts; shared parts excluded."""
Held = dict[Share, Expression]
"""For each choice of a shared part, the number of jobs that hold it, or whether the job does."""


@dataclass(frozen=True, slots=True)
class SharedPart:
    """One part that counts in several gaps."""

    name: str
    weight: int
    """What changing it counts."""
    now: tuple[int, ...] | None
    """The choice it is now, -1 where that cannot stay; None where the job does not say."""


@dataclass(frozen=True, slots=True, order=True)
class Draw:
    """The parts that a build takes out of the stock."""

    parts: tuple[tuple[int, int], ...]
    """Choices in rising order, each with the number of parts; shared parts excluded."""
    shares: tuple[Share, ...]
    """The shared parts, in rising order."""


def holders(shared: Sequence[SharedPart], gaps: Sequence[GridGap]) -> list[list[int]]:
    """Return for each shared part the indices of the gaps that may hold it."""
    parts = [dict(gap.shares) for gap in gaps]
    return [[n for n, held in enumerate(parts) if nth in held] for nth in range(len(shared))]


def agreed(shares: Iterable[Share]) -> dict[int, int] | None:
    """Return the choice that each shared part is; None where gaps hold different ones."""
    held: dict[int, int] = {}
    for part, choice in shares:
        if held.setdefault(part, choice) != choice:
            return None
    return held


def draw_of(layout: GridLayout, parts: Sequence[tuple[int, ...]]) -> Draw:
    """Return what the parts at the places of a layout draw."""
    uses: dict[int, int] = {}
    shares: list[Share] = []
    for place, here in zip(layout.places, parts, strict=True):
        for choice in here:
            if place.shared < 0:
                uses[choice] = uses.get(choice, 0) + 1
            else:
                shares.append((place.shared, choice))
    return Draw(tuple(sorted(uses.items())), tuple(sorted(shares)))


def in_one_job(draws: Sequence[Draw]) -> dict[int, int] | None:
    """Count what a draw for each gap of a job takes; None where they do not agree."""
    held = agreed(share for draw in draws for share in draw.shares)
    if held is None:
        return None
    total = Counter(held.values())
    for draw in draws:
        for choice, count in draw.parts:
            total[choice] += count
    return total


def most_in_one_gap(draws: Iterable[Draw]) -> Counter[int]:
    """Return the most parts of each choice that some draw of a gap takes, shared parts excluded."""
    most: Counter[int] = Counter()
    for draw in draws:
        for choice, count in draw.parts:
            most[choice] = max(most[choice], count)
    return most


def most_in_one_job(each: Iterable[Mapping[int, int]], shares: Iterable[Share]) -> Counter[int]:
    """Bound the parts of each choice that a job takes, from each gap's and the shared parts'."""
    most: Counter[int] = Counter()
    for gap in each:
        most.update(gap)
    most.update(choice for _, choice in set(shares))
    return most


def drawn_by(variables: Iterable[int], draws: Iterable[Draw]) -> tuple[Uses, Held]:
    """Return the parts of each choice, and the shared parts, that a gap's chosen draws take."""
    uses: Uses = {}
    held: Held = {}
    for variable, draw in zip(variables, draws, strict=True):
        for choice, count in draw.parts:
            uses.setdefault(choice, {})[variable] = count
        for share in draw.shares:
            held.setdefault(share, {})[variable] = 1
    return uses, held


def drawn_together(gaps: Iterable[Uses], held: Held) -> Uses:
    """Add up what gaps take, and the shared parts that `agree` returns."""
    total: Uses = {}
    for gap in (*gaps, *({choice: number} for (_, choice), number in held.items())):
        for choice, number in gap.items():
            gather(total.setdefault(choice, {}), number)
    return total


class TakesRows(Protocol):
    """A program that accepts columns and rows."""

    def integer(self, low: int, high: int) -> int:
        """Add an integer column between two bounds, and return its index."""
        ...

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> object:
        """Add a row that keeps an expression between two bounds, either of which may be None."""
        ...


def agree(program: TakesRows, gaps: Iterable[Held], built: Expression, most: int = 1) -> Held:
    """Add rows so that a job holds one choice of a shared part, in all its gaps that hold the part.

    Parameters
    ----------
    program
        The program, which receives a column for each choice that a gap may hold.
    gaps
        For each gap the number of jobs in which it holds each choice of a shared part.
    built
        The number of jobs, 1 where the program is of one job.
    most
        The greatest number of jobs.

    Returns
    -------
    dict of Expression
        The number of jobs that hold each choice of a shared part, in however many gaps.
    """
    holding: dict[Share, list[Expression]] = {}
    for gap in gaps:
        for share, number in gap.items():
            holding.setdefault(share, []).append(number)
    held = {share: program.integer(0, most) for share in holding}
    one_each: dict[int, Expression] = {}
    for share, numbers in holding.items():
        for number in numbers:
            program.row(add({held[share]: -1}, number), None, 0)
        program.row(add({held[share]: -1}, *numbers), 0, None)
        one_each.setdefault(share[0], scale(built, -1))[held[share]] = 1
    for row in one_each.values():
        program.row(row, None, 0)
    return {share: {column: 1} for share, column in held.items()}


def most_changes(shared: Iterable[SharedPart]) -> int:
    """Return what shared parts add to the changes of a job where none stays what it is.

    Whatever a job holds, a part that was in comes out unless it stays, and then another may go in:
    one part either way. Where the job does not say what was in, nothing counts.
    """
    return sum(part.weight for part in shared if part.now is not None)


def changes(shared: Sequence[SharedPart], held: Held) -> Expression:
    """Return what shared parts add to the changes of a job, which holds them as `agree` returns."""
    stays = [
        scale(held.get((nth, choice), {}), -part.weight)
        for nth, part in enumerate(shared)
        for choice in part.now or ()
    ]
    return add({CONSTANT: most_changes(shared)}, *stays)
