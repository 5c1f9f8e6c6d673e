"""What `close` prints as JSON, each key declared once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.output.answers import Answer, key
from gapwright.record.answer import PartsAnswer, TakenAnswer

if TYPE_CHECKING:
    from collections import Counter

    from gapwright.record.sizes import Size
    from specs.models.record import Taken


def _taken(parts: tuple[Taken, ...]) -> list[TakenAnswer]:
    return [TakenAnswer(one) for one in parts]


def _sizes(sizes: Counter[Size]) -> list[PartsAnswer]:
    return [PartsAnswer(part=" ".join(size), count=count) for size, count in sizes.items()]


class CorrectionAnswer(Answer):
    """That a record was corrected after its job was closed."""

    on: str
    """The day it was corrected."""
    by: str
    """Who corrected it."""
    why: str
    """Why."""


class CloseAnswer(Answer, shape="gapwright close 1"):
    """A job that was closed, or whose record was corrected."""

    job: str = key(lambda closing: closing.case.job.name)
    """Its name."""
    unit: str = key(lambda closing: closing.case.unit.name)
    """Its unit."""
    on: str = key(lambda closing: closing.closed.on)
    """The day it was closed."""
    by: str = key(lambda closing: closing.closed.by)
    """Who closed it."""
    record: str = key(lambda closing: closing.closed.record)
    """The code of the job as it was closed, its promise included."""
    used: list[TakenAnswer] = key(lambda closing: _taken(closing.closed.used))
    """What went in from the shelf, by lot."""
    back: list[TakenAnswer] = key(lambda closing: _taken(closing.closed.back))
    """What went out to it and came back, by lot."""
    corrected: list[CorrectionAnswer] = key(
        lambda closing: [CorrectionAnswer(one) for one in closing.closed.corrected]
    )
    """When the record was corrected afterwards, by whom and why."""
    out_now: list[TakenAnswer] = key(lambda closing: _taken(closing.out))
    """What left the shelf with this request."""
    back_now: list[TakenAnswer] = key(lambda closing: _taken(closing.back))
    """What came back to it with this request."""
    released: list[TakenAnswer] = key(lambda closing: _taken(closing.released))
    """What was reserved for the job and is free again."""
    not_promised: list[PartsAnswer] = key(lambda closing: _sizes(closing.extra))
    """What went in and was not promised."""
    not_used: list[PartsAnswer] = key(lambda closing: _sizes(closing.unused))
    """What was promised and did not go in."""
    unbuilt: list[str] = key(lambda closing: list(closing.state.unbuilt))
    """The promised gaps that were not measured after assembly."""
    off: list[str] = key(lambda closing: list(closing.state.off))
    """The gaps that are not as promised, or not within their windows."""


ANSWERS = {"close": (CloseAnswer,)}
