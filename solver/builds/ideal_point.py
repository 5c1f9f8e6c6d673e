"""Keeps the patterns that are at their gap's own least, level by level, as a first guess.

A level summed over the gaps is never below the sum of each gap's own least, and one taken at the
worst gap never below the greatest of these. If some build reaches that on the first levels, then
every best build does, and each of its patterns is among those kept here: on those levels nothing
is left to search, and their bound is proved. If none does, fewer levels are guessed.
"""

from __future__ import annotations

from collections import Counter
from functools import reduce
from operator import and_
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.builds.dominance import Listed
    from solver.problem.instance import Task


def guesses(task: Task, listed: Listed) -> Iterator[Listed]:
    """The patterns kept for all levels that can be guessed, for half of them, ... for none."""
    depth = 0 if None in listed else _guessable(task)
    while depth:
        kept = _peeled(task, listed, depth)
        if not _short(task, kept):
            yield kept
        depth //= 2
    yield listed


def _guessable(task: Task) -> int:
    """How many of the first levels are parted among the gaps."""
    parted = [task.parted(level) for level in task.levels]
    return [*parted, False].index(False)


def _peeled(task: Task, listed: Listed, depth: int) -> Listed:
    kept = [patterns or [] for patterns in listed]
    for nth, level in enumerate(task.levels[:depth]):
        least = [min(pattern.values[nth] for pattern in patterns) for patterns in kept]
        if level.worst:
            least = [max(least)] * len(kept)
        kept = [
            [pattern for pattern in patterns if pattern.values[nth] <= most]
            for patterns, most in zip(kept, least, strict=True)
        ]
    return list(kept)


def _short(task: Task, listed: Listed) -> bool:
    """Whether the gaps need more of a choice than there is, whichever patterns they take."""
    needed: Counter[int] = Counter()
    for patterns in listed:
        needed += reduce(and_, (pattern.uses for pattern in patterns or []))
    return any(count > task.choices[choice].count for choice, count in needed.items())
