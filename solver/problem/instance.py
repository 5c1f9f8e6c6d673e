"""One rebuild in plain integers: everything the engine, the judge and the oracles need.

Lengths are whole steps of the task's grid. A gap is

    gap = room - sum of takes

over the parts at the chosen layout's places, where room is the space less the fixed parts, and
what a part takes is its factor times its thickness (negated for a window on the height).

Choices are sorted as the tie-break asks, so a choice's index is its rank. Places stand in the
order they are filled at the bench.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal, Protocol

from solver.problem.aims import levels_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from fractions import Fraction

    from solver.problem.aims import Level
    from specs.models.lot import Lot

RuleKind = Literal["must", "never", "at most", "at least"]
TOP = 2**53  # no coefficient or activity may pass it
RATIO = 10_000  # deviations are compared in ten-thousandths of a window's width
MIDDLE = 2_500  # a gap within a quarter of its window from the aim is as good as any


@dataclass(frozen=True, slots=True)
class Choice:
    """Lots nobody could tell apart at the bench: same size, thickness and standing."""

    family: str
    size: str
    kind: str
    thickness: int
    deficit: int
    """How much thinner its nominal is than the thickest of the family."""
    grade: int
    """1 for the thinnest grade of a steel; 0 for the thickest grade and for what is no steel."""
    count: int
    used: bool
    own: bool
    """Of this very unit or its trial build."""
    lots: tuple[Lot, ...]
    sold: bool = False
    """Whether it is what a shop would deliver: new and at its nominal."""
    price: int | None = None
    """In ten-thousandths of the currency, where the unit file states it."""


@dataclass(frozen=True, slots=True)
class Place:
    """One place whose part is chosen."""

    label: str
    family: str
    factor: Fraction
    takes: dict[int, int]
    """What each choice allowed here takes from the gap."""
    least: int
    most: int
    heat: int
    """For steels: counted from the cool end, 1 upward. 0 otherwise."""
    weight: int
    """What changing one part here counts."""
    now: tuple[int, ...] | None
    """The choices there now, -1 for a part that cannot stay; None where the job does not say."""
    shared: int
    """Index of the shared part it is, or -1."""
    let_go: dict[int, int] = field(default_factory=dict)
    """What the choices take that would be allowed here if no part were kept."""


@dataclass(frozen=True, slots=True)
class Layout:
    """One arrangement of a gap's stack with the window that applies to it."""

    name: str
    rank: int
    room: int
    low: int | None
    high: int | None
    aim: int
    width: int
    nearest: bool
    """Whether the maker asks for the nearest to the aim: then `middle` does not count."""
    places: tuple[Place, ...]
    moved: int
    """What changing to this layout counts, apart from its chosen parts."""

    def left(self, parts: Iterable[tuple[int, ...]]) -> int:
        """The gap that choices at its places leave."""
        placed = zip(self.places, parts, strict=True)
        return self.room - sum(place.takes[choice] for place, here in placed for choice in here)

    def landing(self, takes: Sequence[int], room: int) -> slice:
        """Which of some sums of takes, in rising order, leave a gap in the window in a room."""
        first = 0 if self.high is None else bisect_left(takes, room - self.high)
        end = len(takes) if self.low is None else bisect_right(takes, room - self.low)
        return slice(first, end)

    def ratio(self, off: int) -> int:
        """A deviation as a share of the width, rounded up."""
        return -(-RATIO * off // self.width)

    def beyond_middle(self, off: int) -> int:
        """How much of it lies beyond the quarter that is as good as the aim."""
        return 0 if self.nearest else max(0, self.ratio(off) - MIDDLE)


@dataclass(frozen=True, slots=True)
class Barred:
    """A layout that is not allowed in this job."""

    layout: Layout
    why: str
    """The fact that rules it out; empty where the job merely asks for another layout."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A pack or an end play that is being set."""

    name: str
    shifts: bool
    layouts: tuple[Layout, ...]
    barred: tuple[Barred, ...] = ()

    @property
    def choices(self) -> set[int]:
        """All that any of its places may take."""
        places = (place for layout in self.layouts for place in layout.places)
        return {choice for place in places for choice in place.takes}

    @property
    def shared(self) -> set[int]:
        """The shared parts it may hold, -1 among them where a place has none."""
        return {place.shared for layout in self.layouts for place in layout.places}


@dataclass(frozen=True, slots=True)
class Shared:
    """One part that counts in several gaps."""

    name: str
    weight: int
    now: tuple[int, ...] | None
    """The choice it is now, -1 where that cannot stay; None where the job does not say."""


@dataclass(frozen=True, slots=True)
class Rule:
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

    def binds(self, gap: Gap) -> bool:
        """Whether it is for the whole job and counts what a gap may take."""
        return self.gap < 0 and not gap.choices.isdisjoint(self.first | self.second)


class SureEnough(Protocol):
    """Says of a build of a gap, by its layout and the gap it leaves, whether it is sure enough."""

    def __call__(self, gap: str, layout: Layout, build: GapBuild, left: int) -> bool:
        """Whether it is."""
        ...


@dataclass(frozen=True)
class Task:
    """Everything that is to be decided for one rebuild."""

    step: Fraction
    """Nanometres in one step of the grid."""
    choices: tuple[Choice, ...]
    gaps: tuple[Gap, ...]
    shared: tuple[Shared, ...]
    rules: tuple[Rule, ...]
    aims: tuple[str, ...]
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
        joint = any(shared.now is not None for shared in self.shared)
        return level.measure != "scarce" and not (level.measure == "change" and joint)

    def with_more(self, more: Mapping[int, int]) -> Task:
        """The same task with more of some choices on hand."""
        choices = tuple(
            replace(choice, count=choice.count + more.get(index, 0))
            for index, choice in enumerate(self.choices)
        )
        return replace(self, choices=choices)

    def with_rooms(self, gaps: tuple[Gap, ...]) -> Task:
        """The same task with the rooms of its gaps moved; what looks at no room is kept."""
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
