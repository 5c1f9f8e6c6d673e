"""The build now in the unit, as choices: what is where, and what a change of layout moves."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap

if TYPE_CHECKING:
    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.lot import Lot
    from specs.models.stacks import Place
    from specs.parts.lookup import ListedBuild, NamedPart

GONE = -1  # a part in the unit that cannot stay: worn out, or fixed where another is chosen


@dataclass
class Present:
    """What is in the unit now, for the gaps being built."""

    case: Case
    groups: list[tuple[Lot, ...]]
    gaps: tuple[str, ...]
    builds: dict[str, ListedBuild | None] = field(init=False)
    shared: dict[str, tuple[int, ...]] = field(init=False)
    """The shared parts whose present choice some gap's build names."""

    def __post_init__(self) -> None:
        self.builds = {name: self._build(name) for name in self.gaps}
        self.shared = {}
        for name, now in self.builds.items():
            for part, known in JobGap(self.case, name).shared_in(now).items() if now else ():
                self.shared.setdefault(part, (self.choice(known),))

    def _build(self, name: str) -> ListedBuild | None:
        parts = JobGap(self.case, name).now
        if parts is None:
            return None
        return JobGap(self.case, name).build(parts)

    def choice(self, part: NamedPart) -> int:
        """The choice that one of the unit's own parts is."""
        for index, (lot, *_) in enumerate(self.groups):
            same = (lot.family, lot.size, lot.thickness) == (part.family, part.size, part.thickness)
            if lot.own and same:
                return index
        return GONE

    def at(self, name: str, place: Place, label: str) -> tuple[int, ...] | None:
        """The choices at a place now; None where the job does not say."""
        if place.part in self.case.unit.shared_parts:
            return self.shared.get(place.part)
        now = self.builds[name]
        if now is None:
            return None
        fixed = label in self._places(name, now) and label not in now.parts
        return (GONE,) if fixed else tuple(map(self.choice, now.parts.get(label, ())))

    def _places(self, name: str, now: ListedBuild) -> dict[str, Place]:
        before = self.case.unit.gaps[name].arrangements[now.layout]
        return dict(zip(before.labels, before.stack, strict=True))

    def moved(self, name: str, layout: Arrangement) -> int:
        """What changing to a layout counts besides its chosen parts.

        Parts at places that go come out, and fixed parts go in where something else lay. Shared
        parts are counted with the job.
        """
        now = self.builds[name]
        if now is None:
            return 0
        old = self._places(name, now)
        new = dict(zip(layout.labels, layout.stack, strict=True))
        unit = self.case.unit
        out = sum(
            self.weight(name, place) * len(now.parts.get(label, (GONE,)))
            for label, place in old.items()
            if label not in new and place.part not in unit.shared_parts
        )
        in_ = sum(
            self.weight(name, place) * max(1, len(now.parts.get(label, ())))
            for label, place in new.items()
            if unit.family_of(place.part).fixed is not None
            and (label not in old or old[label].part != place.part)
        )
        return out + in_

    def weight(self, name: str, place: Place) -> int:
        """What changing the part at a place counts."""
        unit = self.case.unit
        if place.part in unit.shared_parts:
            return unit.shared_weight(place.part)
        return (place.reach or unit.gaps[name].reach).weight
