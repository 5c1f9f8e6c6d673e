"""What belongs together: sets of parts and facts of which all are of one set, or none fits.

    piston and spring:
      sets:
        deep: {piston height: 1.315 ± .002, piston spring: nine turns}
        shallow: {piston height: 1.190 ± .002, piston spring: twelve turns}
      would: the spring goes solid before the pack is pressed

A set names things: a fact of the unit, a family (its size, or what its one thickness measured), a
pack (its layout), or a thing of its own, which a job states under `found`. All that a job says must
leave one set; what the solve chooses is then of a set that is left.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import Field

from specs.values.fields import Names, Span, Text, Written
from specs.values.lengths import LengthError, parse_length, show
from specs.values.ranges import parse_range
from specs.values.wording import plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.findings import Path
    from specs.models.case import Case
    from specs.models.unit import Unit
    from specs.values.lengths import Length
    from specs.values.lengths import Unit as LengthUnit


class Belonging(Written):
    """Things that go together in sets, never mixed."""

    sets: dict[Text, dict[Text, Names]] = Field(
        description="The sets by name. Each names the same things, with what they are in it: "
        "words, a length as it measures (1.315 ± .002), sizes of a family, layouts of a pack.",
        examples=["{deep: {piston height: 1.315 ± .002, spring: nine turns}, shallow: {...}}"],
    )
    would: Text = Field(
        description="What a mixture would do, repeated in the answer.",
        examples=["the spring goes solid before the pack is pressed"],
    )

    @property
    def things(self) -> tuple[str, ...]:
        """What its sets name."""
        return tuple(dict.fromkeys(thing for one in self.sets.values() for thing in one))

    def sets_with(self, said: Said, length: LengthUnit | None) -> list[str]:
        """The sets a thing can be of, as it was found; bare lengths of the sets are in `length`."""
        return [
            name
            for name, one in self.sets.items()
            if any(is_as(stated, said.value, said.measured, length) for stated in one[said.thing])
        ]


@dataclass(frozen=True, slots=True)
class Said:
    """What a job says of a thing, and where."""

    thing: str
    value: str
    measured: Length | None
    """As a length, where it is one."""
    path: Path


def is_as(stated: str, found: str, measured: Length | None, length: LengthUnit | None) -> bool:
    """Whether a thing was found as it is stated: the same words, or a length in its range."""
    if plain(stated) == plain(found):
        return True
    if measured is None:
        return False
    span = range_of(stated, length)
    return span is not None and span.holds(measured)


def as_length(text: str, length: LengthUnit | None) -> Length | None:
    """A text as a length, where it is one."""
    with suppress(LengthError):
        return parse_length(text, length)
    return None


def range_of(stated: str, length: LengthUnit | None) -> Span | None:
    """A text as a range, both its ends alike where it is one length; None where it is neither."""
    with suppress(LengthError):
        return Span(*parse_range(stated, length))
    one = as_length(stated, length)
    return None if one is None else Span(one, one)


def own_things(unit: Unit, belonging: Belonging) -> tuple[str, ...]:
    """What its sets name that is nothing of the unit's: a job states it under `found`."""
    return tuple(
        thing
        for thing in belonging.things
        if thing not in {*unit.facts, *unit.families, *unit.gaps}
    )


def said_of(case: Case) -> Iterator[Said]:
    """What a job says of the things of its unit, the builds it lists left aside."""
    job, unit = case.job, case.unit
    for thing, value in job.found.items():
        measured = as_length(value, case.origins["job"].length)
        yield Said(thing, value, measured, ("found", thing))
    for name, fact in unit.facts.items():
        if stated := job.facts.get(name, fact.default):
            yield Said(name, stated, None, ("facts", name))
    for name, thickness in job.parts.items():
        yield Said(name, show(thickness, case.length), thickness, ("parts", name))
    for name, work in job.gaps.items():
        if work.layout:
            yield Said(name, work.layout, None, ("gaps", name, "layout"))


def sets_left(case: Case, belonging: Belonging, said: Iterable[Said]) -> list[str]:
    """The sets that all that is said leaves."""
    left = [*belonging.sets]
    for one in said:
        of = belonging.sets_with(one, case.origins["unit"].length)
        left = [name for name in left if name in of]
    return left


def barred(case: Case) -> dict[tuple[str, str], str]:
    """The sizes and layouts that belong to none of the sets left, and why.

    By family or pack, and size or layout.
    """
    found: dict[tuple[str, str], str] = {}
    said = [*said_of(case)] if case.unit.belongs_together else []
    for belonging in case.unit.belongs_together.values():
        told = [one for one in said if one.thing in belonging.things]
        left = sets_left(case, belonging, told)
        if not told or not left:
            continue
        allowed = {pair for name in left for pair in _pairs(belonging, name)}
        because = ", ".join(f"{one.thing} is {one.value}" for one in told)
        for name in belonging.sets:
            for pair in _pairs(belonging, name):
                if pair not in allowed:
                    found[pair] = f"{because} ({belonging.would})"
    return found


def _pairs(belonging: Belonging, name: str) -> Iterator[tuple[str, str]]:
    return ((thing, value) for thing, values in belonging.sets[name].items() for value in values)
