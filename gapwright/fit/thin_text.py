"""The sentence on thin steels: how many there are, and of which grade no fewer are possible.

The aim `thin` counts the thinnest grade first, in packs that shift before packs that only hold.
So of the first count no fewer is possible; of the others only with so few, or none, of those
before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.fit.conformance_text import percent
from gapwright.fit.gap_text import chosen_words, gap_name, gap_text
from solver.problem.solution import Fit
from solver.rebuild.thin_steels import thin_by_grade
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gapwright.fit.report import Report, Unguarded
    from solver.rebuild.thin_steels import ThinGrade
    from specs.values.lengths import LengthUnit

ORDINALS = ("", "", "second ", "third ", "fourth ", "fifth ")


def thin_words(report: Report, unit: LengthUnit) -> Iterator[str]:
    """Say how many steels are thin, grade by grade how few could be, and what `safe` costs."""
    steels = sum(gap.steels for gap in report.gaps)
    thin = sum(gap.thin for gap in report.gaps)
    if not steels or not isinstance(report.answer, Fit):
        return
    found, fewest = thin_by_grade(report.answer.instance, report.answer.build), report.fewest_thin
    if not thin:
        yield f"thin steels: none of {steels}"
    elif report.unguarded:
        spared = report.unguarded.thin or "none"
        what = "clear of the limits" if report.unguarded.near else "well above no clearance"
        yield f"thin steels: {thin} of {steels}, to keep {what}; {spared} without `safe`:"
        yield from _unguarded(report, report.unguarded, unit)
    elif fewest is None:
        yield f"thin steels: {thin} of {steels}"
    elif found == fewest:
        yield f"thin steels: {thin} of {steels}{_fewest(found)}"
    else:
        yield f"thin steels: {thin} of {steels}; {_least(fewest)} where nothing else counts"


def _unguarded(report: Report, other: Unguarded, unit: LengthUnit) -> Iterator[str]:
    for gap, mine, sure in zip(other.gaps, report.gaps, other.sure.gaps, strict=True):
        if chosen_words(gap) != chosen_words(mine) or gap.layout != mine.layout:
            margin = f", {show(gap.margin, unit)} from its limit" if gap.margin is not None else ""
            told = f"{gap_text(gap, unit)}{margin}, {percent(sure.chance.least)} sure"
            yield f"  {gap_name(gap)}: {told}: {chosen_words(gap)}"


def _fewest(found: Sequence[ThinGrade]) -> str:
    """Say of each grade that is there what is true of it."""
    first, *others = found
    if not any(grade.count for grade in others):
        return "; no fewer is possible"
    sure = ", no fewer is possible" * bool(first.count)
    told = [f"{first.count or 'none'} {_which(first, found)}{sure}"]
    for nth, grade in enumerate(others):
        if grade.count:
            fewer = (
                f"{_so_few(found[: nth + 1])} {'of those before' if nth else _which(first, found)}"
            )
            told.append(f"{grade.count} {_which(grade, found)}, no fewer with {fewer}")
    return ": " + "; ".join(told)


def _so_few(before: Sequence[ThinGrade]) -> str:
    return "so few" if any(grade.count for grade in before) else "none"


def _least(fewest: Sequence[ThinGrade]) -> str:
    if len(fewest) == 1 or not any(grade.count for grade in fewest):
        return str(sum(grade.count for grade in fewest) or "none")
    return " and ".join(f"{grade.count} {_which(grade, fewest)}" for grade in fewest if grade.count)


def _which(grade: ThinGrade, among: Sequence[ThinGrade]) -> str:
    """Name a grade, and the packs it lies in where both kinds are among the counts."""
    words = []
    if len({other.grade for other in among}) > 1:
        words.append(f"of the {_ordinal(grade.grade)}thinnest grade")
    if len({other.shifts for other in among}) > 1:
        words.append("in packs that shift" if grade.shifts else "in packs that only hold")
    return " ".join(words) or "thin"


def _ordinal(grade: int) -> str:
    return ORDINALS[grade] if grade < len(ORDINALS) else f"{grade}th "
