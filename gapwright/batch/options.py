"""The options of `batch` read from text, and its table and picture written to their files."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from re import fullmatch
from typing import TYPE_CHECKING

from gapwright.batch.service import PlanOptions
from gapwright.output.money import WHOLE
from specs.errors import InputError, Problem, quoted

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.batch.service import PlanReport
    from gapwright.record.former_units import Records
    from specs.values.lengths import LengthUnit

    Reports = dict[str, PlanReport]


def plan_options(
    pin: tuple[str, ...],
    hold: tuple[str, ...],
    keep: Path | None,
    budget: str | None,
    day: str | None,
    records: Records | None = None,
) -> PlanOptions:
    """Read the options of a plan.

    Parameters
    ----------
    pin, hold
        The names of jobs to complete before others, and of jobs to hold back.
    keep
        The JSON of an earlier plan to keep what is possible of.
    budget
        An amount of money as written, such as 150 or 99.50.
    day
        The day to count due dates from, as YYYY-MM-DD; today where none is given.
    records
        The records to hold the readings against, besides the jobs' own ledgers.

    Raises
    ------
    InputError
        With each option that cannot be read, and what to write instead.
    """
    problems = []
    if budget is not None and not fullmatch(r"[0-9]{1,9}(\.[0-9]{1,4})?", budget):
        sentence = f"{quoted(budget)}; write an amount such as 150 or 99.50"
        problems.append(Problem(sentence, field="--budget"))
    try:
        if day is not None:
            day = date.fromisoformat(day).isoformat()
    except ValueError:
        sentence = f"{quoted(day)}; write a date such as 2031-04-09"
        problems.append(Problem(sentence, field="--day"))
    if problems:
        raise InputError(*problems)
    amount = None if budget is None else int(Decimal(budget) * WHOLE)
    return PlanOptions(pin, hold, keep, amount, day or "", records)


def write(
    reports: Reports, lengths: LengthUnit | None, *, table: Path | None, picture: Path | None
) -> None:
    """Write the table and the picture of plans to the files that are named.

    Raises InputError where a file cannot be written.
    """
    from gapwright.batch.chart import plans_chart
    from gapwright.batch.tables import plans_csv
    from gapwright.output import files as paper

    try:
        if table is not None:
            paper.write(plans_csv(reports, lengths).encode(), table)
        if picture is not None:
            plans_chart(reports).save(picture)
    except OSError as error:
        sentence = f"cannot be written ({error.strerror})"
        raise InputError(Problem(sentence, error.filename)) from None
