"""One rebuild in plain integers: everything the engine, the judge and the oracles need.

Choices are sorted as the tie-break asks, so a choice's index is its rank. Places stand in the
order they are filled at the bench.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal, Protocol

from solver.problem.aims import Changes, Scarcity, levels_of
from solver.problem.gaps import RATIO
from solver.problem.shared_parts import most_changes

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from solver.problem.aims import Level
    from solver.problem.gaps import GridGap, GridLayout, LotChoice
    from solver.problem.shared_parts import SharedPart
    from specs.models.aims import Aim

RuleKind = Literal["must", "never", "at most", "at least"]


@dataclass(frozen=True, slots=True)
class ChoiceRule:
    """Parts that go together, never meet, or are bounded in number, in one gap or in all."""

    words: str
    first: frozenset[int]
    second: frozenset[int]
    kind: RuleKind
    bound: int
    gap: int
    """The gap it is for, or -1 for the whole job."""
    preference: bool

    def met_by(self, first: int, second: int) -> bool:
        """Whether so many parts of its first and of its second kind agree with it."""
        if self.kind == "at most":
            return first <= self.bound
        if self.kind == "at least":
            return first >= self.bound
        return not first or (self.kind == "must") == (second > 0)

    def binds(self, gap: GridGap) -> bool:
        """Whether it is for the whole job and counts what a gap may take."""
        return self.gap < 0 and not gap.choices.isdisjoint(self.first | self.second)


class SureEnough(Protocol):
    """Says of a build of a gap, by its layout and the gap it leaves, whether it is sure enough."""

    def __call__(self, gap: str, layout: GridLayout, build: GapBuild, left: int) -> bool:
        """Whether it is."""
        ...


@dataclass(frozen=True)
class Instance:
    """Everything that is to be decided for one rebuild."""

    step: Fraction
    """Nanometres in one step of the grid."""
    choices: tuple[LotChoice, ...]
    gaps: tuple[GridGap, ...]
    shared: tuple[SharedPart, ...]
    rules: tuple[ChoiceRule, ...]
    aims: tuple[Aim, ...]
    sure: SureEnough | None = None
    """Where builds must be sure enough: whether one of a gap is. All are listed then."""

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """The ordered aims, one number each."""
        return levels_of(
            self.aims,
            max((choice.grade for choice in self.choices), default=0),
            {gap.shifts for gap in self.gaps},
        )

    def parted(self, level: Level) -> bool:
        """Whether a level is parted among the gaps: their sum, or the worst of them."""
        counts = level.counts
        joint = isinstance(counts, Changes) and most_changes(self.shared)
        return not (joint or isinstance(counts, Scarcity))

    def with_more(self, more: Mapping[int, int]) -> Instance:
        """The same instance with more of some choices on hand, in the last of their lots."""
        choices = list(self.choices)
        for index, number in more.items():
            choice = choices[index]
            last = (replace(lot, count=lot.count + number) for lot in choice.lots[-1:])
            lots = (*choice.lots[:-1], *last)
            choices[index] = replace(choice, count=choice.count + number, lots=lots)
        return replace(self, choices=tuple(choices))

    def with_rooms(self, gaps: tuple[GridGap, ...]) -> Instance:
        """The same instance with the rooms of its gaps moved; what looks at no room is kept."""
        moved = replace(self, gaps=gaps)
        vars(moved).update(levels=self.levels, sizes=self.sizes)
        return moved

    @cached_property
    def sizes(self) -> dict[tuple[str, str], tuple[int, ...]]:
        """The choices of each size."""
        found: dict[tuple[str, str], list[int]] = {}
        for index, choice in enumerate(self.choices):
            found.setdefault((choice.family, choice.size), []).append(index)
        return {size: tuple(choices) for size, choices in found.items()}

    def counts(self, built: GapBuild) -> Counter[tuple[str, str]]:
        """How many parts of each size a gap is built of: what of them a person can tell apart."""
        held = (self.choices[choice] for parts in built.parts for choice in parts)
        return Counter((choice.family, choice.size) for choice in held)


def scarcity(on_hand: int, taken: int) -> int:
    """What taking parts of one size costs: the j-th of q counts 10000 // (q - j + 1)."""
    return sum(RATIO // (on_hand - nth) for nth in range(taken))


@dataclass(frozen=True, slots=True)
class GapBuild:
    """The layout chosen for a gap, and the choices at each of its places."""

    layout: int
    parts: tuple[tuple[int, ...], ...]


Build = tuple[GapBuild, ...]
