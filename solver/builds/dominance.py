"""Leaves out patterns that another pattern of the same gap can replace in every build.

A choice is contended where the gaps together could ask for more of it than there are, or where a
rule counts it. Two patterns with the same shared parts and the same number of every contended
choice can replace each other in any build, so only the least by the levels need be kept. Replacing
the other pattern by it raises no sum over gaps. Where a worst value over gaps stays as it is, the
sum that follows it falls. Scarcity is no sum over gaps, so patterns equal on the levels before it
are all kept where they take different numbers of some size.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver.problem.aims import Scarcity
from solver.problem.shared_parts import most_in_one_gap, most_in_one_job

if TYPE_CHECKING:
    from collections.abc import Hashable

    from solver.builds.patterns import Pattern
    from solver.problem.instance import GridGap, Instance

Listed = list[list["Pattern"] | None]


def undominated(instance: Instance, listed: Listed) -> Listed:
    """Keep the patterns that may be in a best build.

    Parameters
    ----------
    instance
        The instance of the gaps.
    listed
        For each gap its patterns in the order of the tie-break; None where it is not listed.

    Returns
    -------
    list of list of Pattern, or None
        For each gap the patterns kept, in the same order; None where it is not listed.
    """
    contended = _contended(instance, listed)
    return [
        None if patterns is None else _kept(instance, patterns, contended) for patterns in listed
    ]


def _contended(instance: Instance, listed: Listed) -> frozenset[int]:
    each = (
        _asked_unlisted(instance, gap)
        if patterns is None
        else most_in_one_gap(pattern.draw for pattern in patterns)
        for gap, patterns in zip(instance.gaps, listed, strict=True)
    )
    asked = most_in_one_job(each, (share for gap in instance.gaps for share in gap.shares))
    scarce = {choice for choice, most in asked.items() if most > instance.choices[choice].count}
    return frozenset(scarce.union(*(rule.first | rule.second for rule in instance.rules)))


def _asked_unlisted(instance: Instance, gap: GridGap) -> Counter[int]:
    places = (place for layout in gap.layouts for place in layout.places if place.shared < 0)
    return Counter({c: instance.choices[c].count for place in places for c in place.takes})


def _kept(instance: Instance, patterns: list[Pattern], contended: frozenset[int]) -> list[Pattern]:
    """Keep the least of each kind, in the order of the tie-break."""
    scarce = [isinstance(level.counts, Scarcity) for level in instance.levels]
    before = [*scarce, True].index(True)
    least: dict[Hashable, tuple[int, ...]] = {}
    kinds = []
    for pattern in patterns:
        used = frozenset((c, n) for c, n in pattern.draw.parts if c in contended)
        kinds.append((pattern.draw.shares, used))
        head = pattern.values[:before]
        if head < least.get(kinds[-1], (*head, 0)):
            least[kinds[-1]] = head
    best: dict[Hashable, Pattern] = {}
    for pattern, kind in zip(patterns, kinds, strict=True):
        if pattern.values[:before] == least[kind]:
            alike = (kind, _by_size(instance, pattern) if before < len(scarce) else None)
            if alike not in best or pattern.values < best[alike].values:
                best[alike] = pattern
    kept = set(map(id, best.values()))
    return [pattern for pattern in patterns if id(pattern) in kept]


def _by_size(instance: Instance, pattern: Pattern) -> Hashable:
    sizes: Counter[tuple[str, str]] = Counter()
    for part, count in pattern.draw.parts:
        sizes[instance.choices[part].family, instance.choices[part].size] += count
    return frozenset(sizes.items())
