"""The tables of a plan: parts drawn of every size, and rows by job for a spreadsheet."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.formats.table import defused, write_table
from specs.parts.kit_contents import Sizes
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.batch.service import PlanReport
    from specs.values.lengths import LengthUnit

HEAD = (
    "job", "unit", "counts", "due", "state", "gap", "clearance", "layout", "family", "size",
    "thickness", "count", "from",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SizeRow:
    """The parts of one size in a plan: on hand, drawn and short."""

    family: str
    size: str
    on_hand: int
    drawn: int
    short: int
    """What the jobs that are left lack of it, each for itself."""


def of_sizes(report: PlanReport) -> list[SizeRow]:
    """Return a row for every size that is on hand, drawn or short."""
    batch = report.plan.batch
    drawn, short = Sizes(), Sizes()
    for job, mine in enumerate(drawn_by_job(report)):
        drawn += mine
        short += short_of(report, job)
    rows = (
        SizeRow(
            family, size, sum(batch.items[item].count for item in items),
            drawn[family, size], short[family, size],
        )
        for (family, size), items in batch.sizes.items()
    )  # fmt: skip
    return sorted(
        (row for row in rows if row.on_hand or row.drawn or row.short),
        key=lambda row: (row.family, _order_of(report, row)),
    )


def drawn_by_job(report: PlanReport) -> list[Sizes]:
    """Count the parts each job draws from the shelf, by family and size."""
    found = [Sizes() for _ in report.cases]
    for draw in report.draws:
        item = report.plan.batch.items[draw.item]
        found[draw.job][item.family, item.size] += draw.count
    return found


def short_of(report: PlanReport, job: int) -> Sizes:
    """Count the parts a job that is left lacks, as far as that was looked into."""
    found = Sizes()
    if job in report.diagnostics.lacking:
        for choice, count in report.diagnostics.lacking[job].short:
            spec = report.plan.batch.jobs[job].instance.choices[choice]
            found[spec.family, spec.size] += count
    return found


def _order_of(report: PlanReport, row: SizeRow) -> int:
    """Return the rank of a size: by family, then by thickness, as the instances rank them."""
    return report.plan.batch.sizes[row.family, row.size][0]


def state(report: PlanReport, job: int) -> str:
    """Return the state of a job in the plan: complete, held back or left."""
    if job in report.gaps:
        return "complete"
    return "held back" if report.plan.batch.jobs[job].held else "left"


def plan_csv(report: PlanReport, unit: LengthUnit | None = None) -> str:
    """Write a plan as CSV: a row for each size of each gap, and one for a job that is not built."""
    return plans_csv({"": report}, unit)


def plans_csv(reports: dict[str, PlanReport], unit: LengthUnit | None = None) -> str:
    """Write the plans of shelves as CSV, as `plan_csv`; of several, the shelf comes first."""
    several = len(reports) > 1
    rows: list[tuple[object, ...]] = [("shelf",) * several + HEAD]
    for shelf, report in reports.items():
        for job in range(len(report.cases)):
            rows += [(defused(shelf),) * several + row for row in _rows(report, job, unit)]
    return write_table(rows)


def _rows(report: PlanReport, job: int, unit: LengthUnit | None) -> Iterator[tuple[object, ...]]:
    case, planned = report.cases[job], report.plan.batch.jobs[job]
    lengths = unit or case.length
    head: tuple[object, ...] = (
        defused(planned.name), defused(case.unit.name), planned.priority, case.job.due or "",
        state(report, job),
    )  # fmt: skip
    if job not in report.gaps:
        yield (*head, *[""] * (len(HEAD) - len(head)))
        return
    for gap in report.gaps[job]:
        parts = Counter(
            (line.family, line.size, line.thickness, line.lot.own, line.lot.tried, line.lot.bin)
            for line in gap.steps
            if line.lot is not None
        )
        for (family, size, thickness, own, tried, place), count in parts.items():
            source = "this unit" if own else "the drum" if tried else place or "shelf"
            yield (
                *head, defused(gap.name), show(gap.gap, lengths), defused(gap.layout),
                defused(family), defused(size), show(thickness, lengths), count, defused(source),
            )  # fmt: skip
