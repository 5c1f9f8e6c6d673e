"""The parts that the JSON of `stock kit` and that of `stock shelf` have in common."""

from __future__ import annotations

from gapwright.output.answers import Answer, key
from gapwright.record.former_units_answer import UncountedJobAnswer


class PastDrumsAnswer(Answer):
    """A choice, and the drums it is made by."""

    unit: str = key(lambda report: report.case.unit.name)
    """The unit's name."""
    gaps: list[str]
    """The gaps it is made for."""
    left_aside: list[str] = key(lambda report: report.aside)
    """The gaps of the unit that nothing is chosen for."""
    drawn: list[str]
    """Gaps whose spaces were drawn from what the unit file gives, not measured."""
    independent: bool
    """Whether spaces of different gaps were put together at random."""
    drums: int
    """How many drums there are."""
    jobs_not_counted: list[UncountedJobAnswer] = key(
        lambda report: [*map(UncountedJobAnswer, report.uncounted)]
    )
    """Kept jobs that do not count, with the reason."""


class ShareAnswer(Answer):
    """A share with the limits it lies between in 95 of 100, each from 0 to 1."""

    share: float = key(lambda interval: round(interval.figure, 6))
    """The share."""
    low: float = key(lambda interval: round(interval.low, 6))
    """The lower limit."""
    high: float = key(lambda interval: round(interval.high, 6))
    """The upper limit."""
