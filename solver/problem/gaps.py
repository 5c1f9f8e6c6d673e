"""One gap of a rebuild in plain integers: its layouts, their places, and the choices of parts.

Lengths are whole steps of the instance's grid. A gap is

    gap = room - sum of takes

over the parts at the chosen layout's places, where room is the space less the fixed parts, and
what a part takes is its factor times its thickness (negated for a window on the height).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from specs.models.lot import Lot

TOP = 2**53  # no coefficient or activity may pass it
RATIO = 10_000  # deviations are compared in ten-thousandths of a window's width
MIDDLE = 2_500  # a gap within a quarter of its window from the aim is as good as any


@dataclass(frozen=True, slots=True)
class LotChoice:
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
    """Of one part, in ten-thousandths of the currency, where the unit file states it."""
    pack: int = 1
    """How many are sold together."""


@dataclass(frozen=True, slots=True)
class GridPlace:
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
    """Index of the shared part it is, or -1 (solver/problem/shared_parts.py)."""
    let_go: dict[int, int] = field(default_factory=dict)
    """What the choices take that would be allowed here if no part were kept."""

    @property
    def stacked(self) -> bool:
        """Whether it takes shims: any number of parts but exactly one."""
        return (self.least, self.most) != (1, 1)

    @property
    def single(self) -> bool:
        """Whether it takes one part, of this gap alone: like places may exchange theirs."""
        return not self.stacked and self.shared < 0

    @property
    def before(self) -> tuple[int, ...] | None:
        """What its parts are compared with here; a shared part is compared once for the job."""
        return self.now if self.shared < 0 else None


@dataclass(frozen=True, slots=True)
class Guard:
    """How far the aim `safe` keeps a gap from the limits of its window."""

    band: Fraction
    """In steps of the grid, not rounded."""
    low: int | None
    """The lowest gap; of a pack without one, its scale below the highest."""
    high: int | None
    low_open: bool = False
    """Whether no limit lies at the low end, which then counts for the aim alone."""

    def margin(self, gap: int) -> int | None:
        """How far a gap lies from the nearer limit; None where there is no limit."""
        ends = [gap - self.low] if self.low is not None else []
        return min([*ends, *([self.high - gap] if self.high is not None else [])], default=None)


@dataclass(frozen=True, slots=True)
class GridLayout:
    """One arrangement of a gap's stack with the window that applies to it."""

    name: str
    rank: int
    room: int
    low: int | None
    high: int | None
    aim: int
    width: int
    nearest: bool
    """Whether the maker asks for the nearest to the aim: then `middle` spares no quarter."""
    places: tuple[GridPlace, ...]
    moved: int
    """What changing to this layout counts, apart from its chosen parts."""
    guard: Guard | None = None
    """None where no part of the gap is chosen, or no distance from the limits is asked for."""

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


@dataclass(frozen=True, slots=True)
class Barred:
    """A layout that is not allowed in this job."""

    layout: GridLayout
    why: str
    """The fact that rules it out; empty where the job merely asks for another layout."""


@dataclass(frozen=True, slots=True)
class GridGap:
    """A pack or an end play that is being set."""

    name: str
    shifts: bool
    layouts: tuple[GridLayout, ...]
    barred: tuple[Barred, ...] = ()

    @property
    def choices(self) -> set[int]:
        """All that any of its places may take."""
        places = (place for layout in self.layouts for place in layout.places)
        return {choice for place in places for choice in place.takes}

    @property
    def shares(self) -> set[tuple[int, int]]:
        """The shared parts it may hold, each with a choice it may be."""
        places = (p for layout in self.layouts for p in layout.places if p.shared >= 0)
        return {(place.shared, choice) for place in places for choice in place.takes}
