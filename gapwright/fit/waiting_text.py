"""What a person is told of gaps that wait: for which readings, and how to take them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.gaps.readings import described, expected_state
from specs.models.layouts import allowed_layouts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.report import Report
    from specs.models.case import Case


def waiting(report: Report) -> Iterator[str]:
    """Tell the gaps that wait, in the order they are set, and the parts they share."""
    case = report.case
    solved = {part: name for name in report.solved for part in _shared_parts(case, name)}
    for name, readings in report.waiting.items():
        yield f"waiting: {name}, for {', '.join(readings)}"
        yield from _how(case, name, readings)
        for part in sorted(_shared_parts(case, name) & solved.keys()):
            yield f"  it shares the {part} with {solved[part]}: read it before that part goes in"


def _shared_parts(case: Case, name: str) -> set[str]:
    layouts = case.unit.gaps[name].arrangements.values()
    parts = {place.part for layout in layouts for place in layout.stack}
    return parts & case.unit.shared_parts.keys()


def _how(case: Case, name: str, readings: tuple[str, ...]) -> Iterator[str]:
    """How each reading is to be taken, as far as the unit file says."""
    gap = case.unit.gaps[name]
    layout = next(iter(allowed_layouts(case, name).values()), None)
    for reading in readings:
        asked = described(case.unit, gap, reading)
        state = expected_state(layout, asked) if layout else {}
        facts = [asked.what] if asked else []
        facts += [f"with {asked.gauge}"] if asked and asked.gauge else []
        facts += [f"at {asked.places} places"] if asked and asked.places > 1 else []
        facts += [f"{key} {value}" for key, value in state.items()] if asked else []
        if facts:
            yield f"  {reading}: {', '.join(facts)}"
