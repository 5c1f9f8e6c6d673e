"""The uncertainty of each build of a gap, worked out once for builds whose doubt is the same."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import as_sold, terms_before, terms_of
from specs.uncertainty.propagation import curve
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Hashable
    from fractions import Fraction

    from solver.problem.gaps import GridLayout, LotChoice
    from solver.problem.instance import GapBuild
    from specs.models.case import Case
    from specs.uncertainty.distribution import Chance, Curve
    from specs.uncertainty.propagation import Contribution

Ends = tuple[Length | None, Length | None]


@dataclass(slots=True)
class BuildUncertainty:
    """The chances of a job's builds to lie in their windows, worked out as they are asked for.

    `choices` are those of the instance, `step` the step of its grid in nanometres.
    """

    case: Case
    choices: tuple[LotChoice, ...]
    step: Fraction
    _curves: dict[Hashable, Curve] = field(default_factory=dict)
    """For builds alike in their doubt, how far they may be off."""
    _chances: dict[Hashable, Chance] = field(default_factory=dict)
    _before: dict[tuple[str, str], tuple[Contribution, ...]] = field(default_factory=dict)
    """For each gap and layout what is in doubt before its parts are chosen."""
    _kinds: dict[int, Hashable] = field(default_factory=dict)
    """For each choice of parts as sold a key of its doubt, in whole numbers, quick to compare."""

    def chance(self, gap: str, layout: GridLayout, build: GapBuild, left: int) -> Chance:
        """Return the chance that the true gap of a build lies in its window.

        Parameters
        ----------
        gap
            The gap's name.
        layout
            The layout that is built, with its window in steps.
        build
            The parts at each place, as choices of the instance.
        left
            The gap that the build leaves, in steps of the grid.
        """
        alike = gap, layout.name, self.signature(layout, build)
        asked = (alike, layout.low, layout.high, left)
        if asked not in self._chances:
            if alike not in self._curves:
                self._curves[alike] = curve(self._terms(gap, layout, build))
            self._chances[asked] = self._curves[alike].between(*self.ends(layout, left))
        return self._chances[asked]

    def ends(self, layout: GridLayout, left: int) -> Ends:
        """Return how far the window's limits lie from a gap of `left` steps; None for no limit."""
        low, high = (None if end is None else end - left for end in (layout.low, layout.high))
        return (
            None if low is None else Length(low * self.step),
            None if high is None else Length(high * self.step),
        )

    def signature(self, layout: GridLayout, build: GapBuild) -> Hashable:
        """Return a key that builds with the same doubt share, so that each is worked once.

        Parts as sold enter by how many are in doubt by how much. A measured lot enters by how many
        of it are used, whichever lot it is. Parts in the drum enter one by one, because they may be
        those of the trial build.
        """
        used: dict[int, Counter[tuple[tuple[int, int], int]]] = {}
        for place, parts in zip(layout.places, build.parts, strict=True):
            at = place.factor.as_integer_ratio(), place.shared
            for part in parts:
                used.setdefault(part, Counter())[at] += 1
        alike: Counter[Hashable] = Counter()
        for part, places in used.items():
            lot = self.choices[part].lots[0]
            if lot.own or lot.tried:
                alike[part, frozenset(places.items())] += 1
            elif lot.measured:
                alike[lot.gauge, lot.within, frozenset(places.items())] += 1
            else:
                for (factor, _), times in places.items():
                    alike[self._sold(part), factor] += times
        return frozenset(alike.items())

    def _sold(self, part: int) -> Hashable:
        if part not in self._kinds:
            lot = self.choices[part].lots[0]
            doubt = as_sold(self.case.unit, lot.family, lot.size)
            self._kinds[part] = doubt.shape, doubt.size.nm.as_integer_ratio()
        return self._kinds[part]

    def _terms(self, gap: str, layout: GridLayout, build: GapBuild) -> tuple[Contribution, ...]:
        placed = {
            place.label: tuple(self.choices[part].lots[0] for part in parts)
            for place, parts in zip(layout.places, build.parts, strict=True)
        }
        mine, key = JobGap(self.case, gap), (gap, layout.name)
        if key not in self._before:
            self._before[key] = terms_before(mine, layout.name)
        return terms_of(mine, layout.name, placed, self._before[key])
