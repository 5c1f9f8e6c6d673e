"""A case: a unit, a shelf and a job, each with where it was written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from specs.errors import Problem
from specs.findings import along, dotted

if TYPE_CHECKING:
    from specs.findings import Path
    from specs.formats.yaml import Source
    from specs.models.aims import Aim
    from specs.models.job import Job
    from specs.models.kit import Kit
    from specs.models.shelf import Shelf
    from specs.models.unit import Unit
    from specs.values.lengths import Unit as LengthUnit


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

    @property
    def shelf_length(self) -> LengthUnit:
        """The unit of bare sizes on the shelf."""
        return self.origins["shelf"].length or self.length

    @property
    def aims(self) -> tuple[Aim, ...]:
        """The aims in order, as the job or else the unit has them."""
        return self.job.aims or self.unit.aims
