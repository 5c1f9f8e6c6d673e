"""A case: a unit, a shelf and a job, each with where it was written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from specs.errors import Problem
from specs.findings import along, dotted
from specs.models.aims import CERTAIN
from specs.models.gauges import Gauge, usual_gauges
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from specs.findings import Path
    from specs.formats.yaml import Source
    from specs.models.aims import Aim, Certainty
    from specs.models.gaps import Arrangement
    from specs.models.job import Job
    from specs.models.kit import Kit, Replaced
    from specs.models.shelf import Shelf
    from specs.models.unit import Unit
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a section was written, so that a problem found later still names its line."""

    source: Source
    section: str
    length: LengthUnit | None

    def problem(self, path: Path, sentence: str) -> Problem:
        """Word a problem at a path within the section."""
        steps = along((self.section, *path), self.source.data)
        full = tuple(step for step, _, _ in steps)
        return Problem(sentence, self.source.file, self.source.line(full), dotted(full))

    def written(self, path: Path) -> str:
        """The text as it stands in the file, or nothing where a short form stands for the path."""
        node: Any = self.source.data
        for step, start, leads_on in along((self.section, *path), node):
            node = start[step] if leads_on else start
        return node if isinstance(node, str) else ""


@dataclass(frozen=True, slots=True)
class Case:
    """One rebuild as written: what the unit is, what is on the shelf, what was read."""

    unit: Unit
    shelf: Shelf
    job: Job
    length: LengthUnit
    """The unit of the job's bare lengths, and of its answer."""
    origins: dict[str, Origin]
    ledger: str = ""
    """The address of the ledger to look into, where the shelf is one."""
    kit: Kit | None = None
    """The kit that stands in the shelf's place, or is asked about."""
    as_written: Case | None = None
    """Where a reading or space is varied: the case before, which tells how readings are taken."""

    kept_new: frozenset[str] = frozenset()
    """Gaps that stay closed after an overhaul, so that what it replaced in them stays, too."""

    @property
    def replaced(self) -> dict[str, Replaced]:
        """What is always replaced, as the unit and the kit say."""
        return {**self.unit.always_replaced, **(self.kit.always_replaced if self.kit else {})}

    @property
    def shelf_length(self) -> LengthUnit:
        """The unit of bare sizes on the shelf."""
        return self.origins["shelf"].length or self.length

    @property
    def aims(self) -> tuple[Aim, ...]:
        """The aims in order, as the job or else the unit has them; `safe` only where it counts."""
        aims = self.job.aims or self.unit.aims
        return aims if self.certainty != "none" else tuple(aim for aim in aims if aim != "safe")

    @property
    def certainty(self) -> Certainty:
        """How certain `safe` is to be, as the job or else the unit has it."""
        return self.job.certainty or self.unit.certainty or CERTAIN

    @property
    def gauges(self) -> dict[str, Gauge]:
        """Every gauge known: the usual ones, overruled by the unit file, and that by the job."""
        return {**usual_gauges(), **self.unit.gauges, **self.job.gauges}

    def gauge(self, name: str | None) -> Gauge:
        """Return what is known of a gauge; a plain one where no file names or describes it."""
        for known in (self.job.gauges, self.unit.gauges, usual_gauges()):
            if name in known:
                return known[name]
        return Gauge()

    def tells(self, gauge: str | None) -> Length:
        """Return what a gauge can tell: as the files say, or as is usual."""
        return self.gauge(gauge).telling

    def part_gauge(self, name: str | None) -> str:
        """Return the gauge a thickness was read with: a caliper where nothing says otherwise.

        Parameters
        ----------
        name
            The gauge named beside the thickness; empty or None for none. The job's and the unit
            file's `parts read with` come next.
        """
        return name or self.job.parts_read_with or self.unit.parts_read_with or "caliper"

    def fixed_thickness(self, part: str) -> Length | None:
        """The thickness of a fixed part that goes in: as measured for this job, or as new.

        A part that measured worn is not used: a new one goes in.
        """
        family, found = self.unit.family_of(part), self.fixed_found(part)
        return family.fixed if found is None or family.worn("", found) else found

    def fixed_found(self, part: str) -> Length | None:
        """The thickness of a fixed part as measured for this job, worn or not, or as new."""
        nominal = self.unit.family_of(part).fixed
        return None if nominal is None else self.job.parts.get(part, nominal)

    def fixed_height(self, layout: Arrangement) -> Length:
        """What the parts of a layout that are not chosen take from the gap."""
        total = ZERO
        for place in layout.stack:
            thickness = self.fixed_thickness(place.part)
            if thickness is not None:
                total += thickness * place.factor
        return total
