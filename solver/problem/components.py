"""Tells the gaps that have nothing to do with the others of a job.

A gap stands apart where it holds no part another gap holds, draws on no family another draws on,
and is bound with none by a rule. Levels are sums or worsts over gaps, and every worst is followed
by the sum of the same. So in a best build of the job a gap that stands apart is at its own best,
whatever the others are; they, in turn, see of it only how much worst it leaves them.

Parts things into blocks: those that are tied, directly or through others, stand together.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from solver.problem.shared_parts import holders

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence

    from solver.problem.aims import Level
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance


def stands_apart(instance: Instance, index: int) -> bool:
    """Whether the best build of a gap is its own affair."""
    ties = _ties(instance, instance.gaps[index])
    others = (gap for nth, gap in enumerate(instance.gaps) if nth != index)
    return not any(ties & _ties(instance, gap) for gap in others)


def _ties(instance: Instance, gap: GridGap) -> set[Hashable]:
    """All that could tie a gap to another: families, which shared parts draw on too, and rules."""
    families = {("family", place.family) for layout in gap.layouts for place in layout.places}
    rules = {("rule", nth) for nth, rule in enumerate(instance.rules) if rule.binds(gap)}
    return families | rules


def part_of(instance: Instance, gaps: Sequence[int]) -> Instance:
    """The job of some gaps that no rule and no shared part ties to another.

    The first gap also has what no gap has a part in: a rule over parts nobody takes, a shared
    part that no layout holds.
    """
    rules = tuple(
        replace(rule, gap=gaps.index(rule.gap) if rule.gap >= 0 else -1)
        for rule in instance.rules
        if (rule.gap if rule.gap >= 0 else _first(map(rule.binds, instance.gaps))) in gaps
    )
    shared = tuple(
        part if min(held, default=0) in gaps else replace(part, now=None)
        for part, held in zip(instance.shared, holders(instance.shared, instance.gaps), strict=True)
    )
    return replace(
        instance, gaps=tuple(instance.gaps[gap] for gap in gaps), rules=rules, shared=shared
    )


def _first(having: Iterable[bool]) -> int:
    """The first gap that has a part in something; the first of all where none has."""
    return next((nth for nth, has in enumerate(having) if has), 0)


def together(
    instance: Instance, parts: Sequence[tuple[Instance, tuple[int, ...]]]
) -> tuple[int, ...]:
    """The levels of a whole job from those of its gaps."""
    each: list[dict[Level, int]] = [
        dict(zip(part.levels, values, strict=True)) for part, values in parts
    ]
    return tuple(
        (max if level.worst else sum)(found.get(level, 0) for found in each)
        for level in instance.levels
    )


def blocks(number: int, ties: Iterable[Iterable[int]]) -> list[tuple[int, ...]]:
    """The blocks of so many things, each tie naming some of them; in the order of the first."""
    home = list(range(number))
    for tied in ties:
        merged = {home[one] for one in tied}
        least = min(merged, default=0)
        home = [least if at in merged else at for at in home]
    return [tuple(one for one, at in enumerate(home) if at == h) for h in sorted(set(home))]
