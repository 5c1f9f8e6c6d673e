"""The JSON of a promise, each key declared once: the section `promised` of a job file."""

from __future__ import annotations

from typing import Literal

from gapwright.output.answers import Answer, Words, key
from specs.models.record import percent
from specs.values.lengths import Length, exact


def _exact(length: Length) -> Words:
    return lambda unit: exact(length, unit)


class TakenAnswer(Answer):
    """Parts of one lot of the shelf."""

    family: str
    """Their family."""
    size: str
    """Their size."""
    bin: str | None = key(left_out=True)
    """Where they lie."""
    count: int
    """How many there are."""
    thickness: Words | None = key(
        lambda taken: None if taken.thickness is None else _exact(taken.thickness), left_out=True
    )
    """Their thickness, exact, where the lot was measured."""
    condition: Literal["new", "used"]
    """New or used."""
    lot: str | None = key(left_out=True)
    """The shelf's own label for them."""
    code: str | None = key(left_out=True)
    """The lot's code, in a ledger."""


class PromisedGapAnswer(Answer):
    """What is promised of one gap."""

    layout: str
    """Its layout."""
    parts: list[str | list[str]] = key(
        lambda gap: [one[0] if len(one) == 1 else list(one) for one in gap.parts]
    )
    """The parts whose size is chosen, in the order of the stack; a list where several lie."""
    gap: Words = key(lambda gap: _exact(gap.gap))
    """The gap it will measure, exact."""
    u: Words = key(lambda gap: _exact(gap.u))
    """Its standard uncertainty."""
    sure: str = key(lambda gap: percent(gap.sure))
    """The chance that it lies within its window."""
    space: Words = key(lambda gap: _exact(gap.space))
    """The space it was worked out in, exact."""


class PromisedAnswer(Answer):
    """What is promised for a job: it may stand as `promised` in a job file as it is."""

    on: str
    """The day of the promise."""
    job: str
    """The name of the job it is made for."""
    unit: str
    """The unit it is made for."""
    answer: str
    """The answer's code, worked out from all of this but the day."""
    from_: str
    """The code of the unit and the job it was made from, as written."""
    gaps: dict[str, PromisedGapAnswer] = key(
        lambda promised: {name: PromisedGapAnswer(gap) for name, gap in promised.gaps.items()}
    )
    """What is promised of each gap."""
    takes: list[TakenAnswer] = key(
        lambda promised: [TakenAnswer(taken) for taken in promised.takes]
    )
    """What is fetched from the shelf, by lot."""


class ClosingAnswer(Answer):
    """How a job was closed."""

    on: str
    """The day it was closed."""
    by: str
    """Who closed it."""


class PartsAnswer(Answer):
    """A number of parts of one name."""

    part: str
    """Their family and size."""
    count: int
    """How many there are."""


class GapDifferenceAnswer(Answer):
    """One gap of which another build or figure is answered than was promised."""

    gap: str
    """The gap's name."""
    promised: Length | None = key(lambda one: one.was and one.was.gap)
    """What was promised that it measures; null where nothing was."""
    now: Length | None = key(lambda one: one.now and one.now.gap)
    """What it would measure by this answer; null where it is of no answer now."""
    as_measured: Length | None
    """What the parts promised would give over those measured before they go in, if any."""
    layout_promised: str | None = key(lambda one: one.was and one.was.layout)
    """The layout that was promised."""
    layout_now: str | None = key(lambda one: one.now and one.now.layout)
    """The layout of this answer."""
    out: list[PartsAnswer] = key(
        lambda one: [PartsAnswer(part=part, count=count) for part, count in one.out]
    )
    """Parts that were promised and are not in this answer."""
    in_: list[PartsAnswer] = key(
        lambda one: [PartsAnswer(part=part, count=count) for part, count in one.instead]
    )
    """Parts that come in their place."""
