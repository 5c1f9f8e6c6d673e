"""A gap after assembly: what was promised, what it measured, and how far the two may differ.

Both sides are doubtful: the readings and parts the promise is made of, and the reading after
assembly. Beyond three standard uncertainties of the difference (the action signal of ISO 13528,
from memory), or beyond what all limits together allow, something else must be the matter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap, covering, expected_state
from specs.gaps.uncertainty_budget import as_lots, difference_terms, terms_of
from specs.models.job import Parts
from specs.uncertainty.propagation import curve, reach_of, standard, variance_of
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from specs.models.gaps import Arrangement
    from specs.models.job import AsBuilt
    from specs.parts.lookup import ListedBuild
    from specs.uncertainty.distribution import Chance


ACTION = 3


@dataclass(frozen=True, slots=True)
class Built:
    """One gap as it was measured after assembly."""

    gap: str
    listed: ListedBuild
    layout: Arrangement
    promised: Length
    """What its parts and the readings at the bench make it."""
    found: Length
    """What it measured, the average over its places, allowances added."""
    read: Length
    """What the gauge said, averaged."""
    places: tuple[Length, ...]
    u: Length
    """The standard uncertainty of how much more it measured than was promised."""
    doubt: Length
    """How far the two may differ: three times that, and no farther than any limit allows."""
    chance: Chance
    """That they differ by no more than they do, if all is as listed."""
    gauge: str
    """What it was measured with; empty where that is not said."""

    @property
    def low(self) -> Length | None:
        """The lowest gap its window allows; None where that side is open."""
        return self.layout.window.gap.low

    @property
    def high(self) -> Length | None:
        """The highest gap its window allows; None where that side is open."""
        return self.layout.window.gap.high

    @property
    def more(self) -> Length:
        """How much more than promised it measured."""
        return self.found - self.promised

    @property
    def agrees(self) -> bool:
        """Whether it is as promised, as far as the doubt of both sides explains."""
        return self.explained_by(ZERO)

    def explained_by(self, shift: Length) -> bool:
        """Whether something that moves the gap so far would explain what it measured."""
        return -self.doubt <= self.more - shift <= self.doubt

    @property
    def inside(self) -> bool:
        """Whether it lies in its window."""
        return self.holds(self.found)

    def holds(self, gap: Length) -> bool:
        """Whether the window holds a gap."""
        return self.layout.window.gap.holds(gap)

    @property
    def uneven(self) -> tuple[Length, ...]:
        """The places that would lie outside the window while the average lies inside."""
        apart = self.found - self.read
        return tuple(at for at in self.places if self.inside and not self.holds(at + apart))


def parts_of(as_built: AsBuilt) -> Parts | None:
    """The parts a job lists as built; none where it leaves them to the promise."""
    if as_built.parts is None:
        return None
    return Parts.model_construct(parts=as_built.parts, layout=as_built.layout)


def built(gap: JobGap, as_built: AsBuilt, parts: Parts) -> Built:
    """Lay what a gap measured beside what its parts promise. Its readings are all there."""
    listed = gap.build(parts)
    layout = gap.written.arrangements[listed.layout]
    allowed = covering(gap.written, off_window(layout, as_built))
    found = as_built.average + sum((allowance.add for allowance in allowed), ZERO)
    promised = gap.space(listed.layout).length - gap.height(listed) * layout.sign
    # what was in the trial build is taken to have stayed
    terms = terms_of(gap, listed.layout, as_lots(gap.case, listed, own=True))
    apart = difference_terms(gap, terms, as_built)
    u, reach = standard(variance_of(apart)), reach_of(apart)
    away = abs(found - promised)
    return Built(
        gap=gap.name,
        listed=listed,
        layout=layout,
        promised=promised,
        found=found,
        read=as_built.average,
        places=as_built.at,
        u=u,
        doubt=u * ACTION if reach is None else min(u * ACTION, reach),
        chance=curve(apart).between(-away, away),
        gauge=gap.gauge_with("gap", as_built) or "",
    )


def off_window(layout: Arrangement, as_built: AsBuilt) -> dict[str, str]:
    """In what the state of a reading after assembly is not the window's."""
    expected = expected_state(layout, None)
    return {key: value for key, value in as_built.state.items() if expected.get(key) != value}
