"""What a job states of things that belong together, and which of their sets that leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.models.belonging import as_length
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.findings import Path
    from specs.models.belonging import Belonging
    from specs.models.case import Case
    from specs.models.unit import Unit
    from specs.values.lengths import Length


@dataclass(frozen=True, slots=True)
class Statement:
    """What a job states of a thing, and where."""

    thing: str
    value: str
    measured: Length | None
    """As a length, where it is one."""
    path: Path


def own_things(unit: Unit, belonging: Belonging) -> tuple[str, ...]:
    """What its sets name that is nothing of the unit's: a job states it under `found`."""
    return tuple(
        thing
        for thing in belonging.things
        if thing not in {*unit.facts, *unit.families, *unit.gaps}
    )


def statements_of(case: Case) -> Iterator[Statement]:
    """What a job states of the things of its unit, apart from the builds it lists."""
    job, unit = case.job, case.unit
    for thing, value in job.found.items():
        measured = as_length(value, case.origins["job"].length)
        yield Statement(thing, value, measured, ("found", thing))
    for name, fact in unit.facts.items():
        if stated := job.facts.get(name, fact.default):
            yield Statement(name, stated, None, ("facts", name))
    for name, thickness in job.parts.items():
        yield Statement(name, show(thickness, case.length), thickness, ("parts", name))
    for name, work in job.gaps.items():
        if work.layout:
            yield Statement(name, work.layout, None, ("gaps", name, "layout"))


def sets_left(case: Case, belonging: Belonging, statements: Iterable[Statement]) -> list[str]:
    """The sets of which everything stated can be."""
    left = [*belonging.sets]
    for one in statements:
        of = belonging.sets_with(one.thing, one.value, one.measured, case.origins["unit"].length)
        left = [name for name in left if name in of]
    return left


def barred(case: Case) -> dict[tuple[str, str], str]:
    """The sizes and layouts that belong to none of the sets left, and why.

    By family or pack, and size or layout.
    """
    found: dict[tuple[str, str], str] = {}
    statements = [*statements_of(case)] if case.unit.belongs_together else []
    for belonging in case.unit.belongs_together.values():
        stated = [one for one in statements if one.thing in belonging.things]
        left = sets_left(case, belonging, stated)
        if not stated or not left:
            continue
        allowed = {pair for name in left for pair in _pairs(belonging, name)}
        because = ", ".join(f"{one.thing} is {one.value}" for one in stated)
        for name in belonging.sets:
            for pair in _pairs(belonging, name):
                if pair not in allowed:
                    found[pair] = f"{because} ({belonging.would})"
    return found


def _pairs(belonging: Belonging, name: str) -> Iterator[tuple[str, str]]:
    return ((thing, value) for thing, values in belonging.sets[name].items() for value in values)
