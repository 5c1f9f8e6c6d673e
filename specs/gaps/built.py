"""A gap as measured after assembly, compared with the promise, for `gapwright check`.

Both sides are uncertain: the readings and parts the promise was computed from, and the reading
after assembly. Gap and promise agree where they differ by no more than three standard
uncertainties of their difference (the action signal of ISO 13528, from memory), and by no more
than all limits together allow. The verdict is of the worst place: a gap is as promised only where
each of its places lies in the window and they are even.
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
    from specs.models.record import Promised, PromisedGap
    from specs.parts.lookup import ListedBuild
    from specs.uncertainty.distribution import Chance


ACTION = 3
"""How many standard uncertainties the difference may have."""


@dataclass(frozen=True, slots=True)
class Built:
    """One gap as it was measured after assembly, with its promise."""

    gap: str
    listed: ListedBuild
    """The build that went in."""
    layout: Arrangement
    """The layout of that build."""
    promised: Length
    """The gap promised; `made` where no promise of these parts was kept."""
    made: Length
    """The gap that its parts and the readings before assembly make."""
    other_parts: bool
    """Whether other parts went in than were promised, or the same in another order."""
    found: Length
    """The gap measured: the average over its places, allowances added."""
    read: Length
    """The average of the gauge's figures, without allowances."""
    places: tuple[Length, ...]
    """The gauge's figure at each place."""
    even_within: Length
    """How far its places may lie apart before its parts stand crooked."""
    u: Length
    """The standard uncertainty of `more`."""
    doubt: Length
    """The largest difference in agreement: `ACTION` times `u`, at most what all limits allow."""
    chance: Chance
    """The chance of no larger difference than the one found, if all is as listed."""
    gauge: str
    """The name of the gauge of the reading after assembly; empty where the files do not say."""

    @property
    def low(self) -> Length | None:
        """The lowest gap that the window allows; None where that side is open."""
        return self.layout.lowest

    @property
    def high(self) -> Length | None:
        """The highest gap that the window allows; None where that side is open."""
        return self.layout.window.gap.high

    @property
    def more(self) -> Length:
        """The gap measured less the gap promised."""
        return self.found - self.promised

    @property
    def agrees(self) -> bool:
        """Whether it is as promised: of these parts, even, in its window, and explained."""
        return not self.other_parts and self.inside and self.even and self.explained

    @property
    def explained(self) -> bool:
        """Whether the doubt of both sides explains how far the average is from the promise."""
        return self.explained_by(ZERO)

    def explained_by(self, shift: Length) -> bool:
        """Say whether the gap agrees with a promise larger by `shift`."""
        return -self.doubt <= self.more - shift <= self.doubt

    @property
    def lands(self) -> bool:
        """Whether the average over its places lies in the window."""
        return self.holds(self.found)

    @property
    def nothing_at(self) -> tuple[int, ...]:
        """The places, from 1, where the gauge found nothing of a gap that is not to be below zero.

        The true gap may be anything below there, so that the figures are no reading.
        """
        if self.layout.window.on == "height" or (self.low is not None and self.low < ZERO):
            return ()
        return tuple(nth for nth, at in enumerate(self.places, 1) if not at)

    @property
    def inside(self) -> bool:
        """Whether the average and each of its places lie in the window, and none reads nothing."""
        return self.lands and not self.outside and not self.nothing_at

    @property
    def apart(self) -> Length:
        """How far its places lie apart."""
        return max(self.places) - min(self.places)

    @property
    def even(self) -> bool:
        """Whether its places lie no farther apart than they may."""
        return self.apart <= self.even_within

    def holds(self, gap: Length) -> bool:
        """Say whether the window contains a gap."""
        return self.layout.holds(gap)

    @property
    def outside(self) -> tuple[Length, ...]:
        """The gauge's figures of the places that lie outside the window by themselves."""
        added = self.found - self.read
        return tuple(at for at in self.places if not self.holds(at + added))


def parts_of(as_built: AsBuilt) -> Parts | None:
    """Return the parts that a job lists as built; None where the job leaves them to the promise."""
    if as_built.parts is None:
        return None
    return Parts.model_construct(parts=as_built.parts, layout=as_built.layout)


def promised_parts(promised: PromisedGap) -> Parts:
    """Return the parts that were promised of a gap, as a job lists parts."""
    return Parts.model_construct(parts=promised.parts, layout=promised.layout)


def promised_builds(promised: Promised | None) -> dict[str, Parts]:
    """Return the parts that were promised of each gap; of none where nothing was promised."""
    gaps = promised.gaps.items() if promised else ()
    return {name: promised_parts(gap) for name, gap in gaps}


def built(
    gap: JobGap, as_built: AsBuilt, parts: Parts, promise: PromisedGap | None = None
) -> Built:
    """Compare the gap measured after assembly with the gap that its parts promise.

    Parameters
    ----------
    gap
        The gap of the job; all readings of its space are taken.
    as_built
        The reading after assembly.
    parts
        The parts that went in.
    promise
        What was promised of the gap, where a promise was kept. Its figure stands for just the parts
        that were promised; parts of another size or measured otherwise make their own.

    Returns
    -------
    Built
        Both gaps, with the uncertainty of their difference.

    Raises
    ------
    PartError
        Where the parts that went in, or those promised, do not match the stack.
    """
    listed = gap.build(parts)
    layout = gap.written.arrangements[listed.layout]
    allowed = covering(gap.written, off_window(layout, as_built))
    found = as_built.average + sum((allowance.add for allowance in allowed), ZERO)
    made = gap.space(listed.layout).length - gap.height(listed) * layout.sign
    before = gap.build(promised_parts(promise)) if promise else listed
    promised = promise.gap if promise and before == listed else made
    # A part listed as built that was in the trial build is taken to be the same piece.
    terms = terms_of(gap, listed.layout, as_lots(gap.case, listed, own=True))
    apart = difference_terms(gap, terms, as_built)
    u, reach = standard(variance_of(apart)), reach_of(apart)
    away = abs(found - promised)
    return Built(
        gap=gap.name,
        listed=listed,
        layout=layout,
        promised=promised,
        made=made,
        other_parts=(before.layout, before.sizes) != (listed.layout, listed.sizes),
        found=found,
        read=as_built.average,
        places=as_built.at,
        even_within=gap.even_within("gap"),
        u=u,
        doubt=u * ACTION if reach is None else min(u * ACTION, reach),
        chance=curve(apart).between(-away, away),
        gauge=gap.gauge_with("gap", as_built) or "",
    )


def off_window(layout: Arrangement, as_built: AsBuilt) -> dict[str, str]:
    """Return the states of a reading after assembly that differ from those the window holds for."""
    expected = expected_state(layout, None)
    return {key: value for key, value in as_built.state.items() if expected.get(key) != value}
