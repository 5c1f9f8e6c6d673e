"""What a person is told when nothing fits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.lengths import Length, number, show, show_beside_limits
from specs.readings import settled

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.desk import Report
    from solver.answer import NoFit
    from specs.lengths import Unit


def advice(report: Report, answer: NoFit, unit: Unit) -> Iterator[str]:
    """Say that nothing fits, and how near each gap comes."""
    task = answer.task
    yield "No build from what is on hand lands every gap in its window."
    for gap, miss in zip(task.gaps, answer.alone, strict=True):
        if miss.status == "unfillable":
            yield f"  {gap.name}: too few parts on hand to fill its places"
        elif miss.status == "unknown":
            yield f"  {gap.name}: ran out of time before its nearest miss was proved"
        elif not miss.by:
            yield f"  {gap.name}: can be had alone"
        else:
            yield from _missed(report, answer, gap.name, unit)
    if all(miss.status == "near" and not miss.by for miss in answer.alone):
        yield "Each gap can be had alone, but not together: they share parts, stock or rules."


def _missed(report: Report, answer: NoFit, name: str, unit: Unit) -> Iterator[str]:
    index = next(i for i, gap in enumerate(answer.task.gaps) if gap.name == name)
    miss, step = answer.alone[index], answer.task.step
    layout = answer.task.gaps[index].layouts[miss.layout]
    low, high = (None if end is None else Length(end * step) for end in (layout.low, layout.high))
    nearest = Length(miss.gap * step)
    side = "tight" if low is not None and nearest < low else "loose"
    limits = " to ".join(number(end, unit) for end in (low, high) if end is not None)
    written = report.case.unit.gaps[name]
    only = f" with {layout.name}" if written.layouts and len(written.layouts) > 1 else ""
    yield (
        f"  {name}: nearest{only} {show_beside_limits(nearest, low, high, unit)}, "
        f"{show(Length(miss.by * step), unit)} too {side} (window {limits})"
    )
    if settled(report.case, written):
        yield (
            "    It has no part to choose: it is misassembled, worn, or built with plates of "
            "another thickness. Measure one steel and one friction first."
        )
    if name in report.case.unit.end_plays:
        yield "    A shaft that does not turn freely is not put right by a washer."
