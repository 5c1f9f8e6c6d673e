"""A room for the stack that lies far from those of other units, so that its reading is doubted.

Three bounds are known of the rooms of a gap: each of the former units, if there are enough of them;
`FAR` standard deviations from their middle; and what the unit file says under `spaces`, `FAR`
deviations from the middle of a normal one. A room outside one of them is far. What its own readings
leave in doubt, their standard uncertainty u with parts left aside, is no reason: outside of a range
is what lies more than u outside, and a deviation counts for no less than u.

Notes
-----
Of n + 1 rooms alike in all, drawn from any spread, two lie outside the n others: the chance that
the next one does is 2 / (n + 1) at most (Wilks, Annals of Mathematical Statistics 12, 1941, from
memory). A normal room lies beyond four deviations once in 15,787; beyond four of the deviations
that n rooms show, as often as Student's t of n - 1 degrees of freedom beyond 4 / sqrt(1 + 1 / n):
once in 1,000 for n = 20. Four in place of the usual three deviations (ISO 13528's action signal) is
a choice: three would doubt one drum of 370 that is in order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from specs.gaps.suspected_mistakes import lining_mistake, suspected_mistakes
from specs.gaps.uncertainty_budget import space_terms
from specs.uncertainty.propagation import mean_and_deviation, standard, variance_of
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from specs.gaps.job_gap import JobGap
    from specs.gaps.suspected_mistakes import Mistake
    from specs.values.lengths import Length

FEWEST = 20
"""So many former units there must be before a room is held against them."""
FAR = 4
"""Standard deviations."""


@dataclass(frozen=True, slots=True)
class RoomBound:
    """What the rooms of a gap are known to lie between."""

    kind: Literal["each former unit", "deviations", "spaces"]
    low: Length
    high: Length
    drums: int = 0
    """How many former units it is of; 0 for what the unit file says."""
    middle: Length | None = None
    """Of a bound in deviations; None for a plain range."""
    deviation: Length | None = None
    """One deviation, and no less than the u of the reading; None for a plain range."""
    slack: Length = ZERO
    """By how much a room may lie outside before it is far."""

    def off(self, room: Length) -> Length:
        """Return how far a room lies outside; below zero for one that is too small."""
        return min(room - self.low, ZERO) + max(room - self.high, ZERO)

    def holds(self, room: Length) -> bool:
        """Say whether a room is not far by this bound."""
        return abs(self.off(room)) <= self.slack


@dataclass(frozen=True, slots=True)
class FarRoom:
    """A room that lies far from those of other units."""

    gap: str
    layout: str
    """The layout whose room it is."""
    room: Length
    crossed: tuple[RoomBound, ...]
    """The bounds it lies outside of; all on the same side."""
    mistakes: tuple[Mistake, ...]
    """The single mistakes without which it would be far by none, the likeliest room first."""

    @property
    def roomier(self) -> bool:
        """Whether there is more room than in other units."""
        return self.crossed[0].off(self.room) > ZERO

    @property
    def looks(self) -> tuple[str, ...]:
        """What to do at the bench to find the mistakes out, each once."""
        return tuple(dict.fromkeys(mistake.look for mistake in self.mistakes))


def far_room(gap: JobGap, layout: str, former: Mapping[Length, int]) -> FarRoom | None:
    """Hold the room of a gap against those of other units.

    Parameters
    ----------
    gap
        The gap of the job.
    layout
        The layout whose room it is; all its readings are taken.
    former
        How many former units had which room in that layout, or in one that is read alike.

    Returns
    -------
    FarRoom or None
        The room with the bounds it lies outside of; None where it is not far.
    """
    bounds = [*bounds_of(gap, layout, former)]
    room = gap.space(layout).length
    crossed = [bound for bound in bounds if not bound.holds(room)]
    if not crossed:
        return None
    side = crossed[0].off(room) > ZERO
    crossed = [bound for bound in crossed if (bound.off(room) > ZERO) == side]
    found = tuple(_explaining(gap, layout, room, bounds))
    return FarRoom(gap.name, layout, room, tuple(crossed), found)


def bounds_of(gap: JobGap, layout: str, former: Mapping[Length, int]) -> Iterator[RoomBound]:
    """Yield what the rooms of a gap are known to lie between.

    Parameters are those of `far_room`.
    """
    u = standard(variance_of(space_terms(gap, layout)))
    drums = sum(former.values())
    if drums >= FEWEST:
        yield RoomBound("each former unit", min(former), max(former), drums, slack=u)
        middle, shown = mean_and_deviation(former)
        deviation = max(shown, u)
        far = deviation * FAR
        yield RoomBound("deviations", middle - far, middle + far, drums, middle, deviation)
    spaces = gap.written.spaces
    if spaces is None or layout not in gap.written.alike(gap.written.usual_layout):
        return
    low, high = spaces.within(FAR)
    if spaces.normal is None or spaces.deviation is None:
        yield RoomBound("spaces", low, high, slack=u)
    else:
        deviation = max(spaces.deviation, u)
        far = deviation * FAR
        middle = spaces.normal
        yield RoomBound("spaces", middle - far, middle + far, 0, middle, deviation)


def _explaining(
    gap: JobGap, layout: str, room: Length, bounds: Sequence[RoomBound]
) -> Iterator[Mistake]:
    """Yield the mistakes without which the room would be far by no bound, the nearest first."""
    low, high = max(one.low for one in bounds), min(one.high for one in bounds)
    middle = (low + high) / 2
    found: dict[str, Mistake] = {}
    for mistake in suspected_mistakes(gap, layout):
        if all(bound.holds(room + mistake.shift) for bound in bounds):
            found.setdefault(mistake.words, mistake)
    yield from sorted(found.values(), key=lambda one: abs(room + one.shift - middle))
    lining = lining_mistake(gap, layout, (low if room < low else high) - room)
    if lining is not None and low <= high:
        yield lining
