"""The sentences of a promise: where it was kept, and where a later answer differs from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.record.promise import not_as_promised
from specs.files.digest import is_changed
from specs.files.shelf_address import without_password
from specs.values.lengths import exact, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.report import Report
    from gapwright.record.promise import GapDifference
    from specs.models.record import Promised, PromisedGap, Taken
    from specs.values.lengths import LengthUnit


def promise_words(report: Report, unit: LengthUnit) -> Iterator[str]:
    """Say what was promised for a job, where its answer differs from that, and what was kept."""
    standing, kept = report.standing, report.kept
    if standing and report.anew:
        yield from _differs(report.anew, standing, unit)
    elif standing and report.gaps:
        yield from _against(report, standing, unit)
    elif standing:
        stands = "" if report.closed else ", and it stands"
        yield f"promised on {standing.on} ({standing.answer}){stands}:"
        yield from (f"  {_gap(name, gap, unit)}" for name, gap in standing.gaps.items())
    if kept and kept != standing:
        anew = "promised anew" if standing else "promised"
        file = Path(report.case.origins["job"].source.file).name
        where = without_password(report.case.ledger) or file
        yield f"{anew}, kept in {where}: {kept.answer}"


def taken_words(taken: Taken, unit: LengthUnit) -> str:
    """Write parts of one lot in a few words: 2 x drum steel thin (B2)."""
    facts = [f"{taken.count} x {taken.family} {taken.size}"]
    facts += [show(taken.thickness, unit)] if taken.thickness else []
    facts += ["used"] * (taken.condition == "used")
    facts += [f'"{taken.lot}"'] if taken.lot else []
    return " ".join(facts) + (f" ({taken.bin})" if taken.bin else "")


def _against(report: Report, standing: Promised, unit: LengthUnit) -> Iterator[str]:
    found = not_as_promised(report)
    if not found:
        since = "; unit or job were changed since" if is_changed(report.case, standing) else ""
        yield f"as promised on {standing.on} ({standing.answer}){since}"
        return
    yield f"not as promised on {standing.on} ({standing.answer}):"
    for one in found:
        yield from (f"  {line}" for line in _difference(one, unit))


def _differs(anew: Report, standing: Promised, unit: LengthUnit) -> Iterator[str]:
    """Say that a promise stands, and how the answer that would be given now differs from it."""
    stands = f"promised on {standing.on} ({standing.answer}), and it stands"
    if not anew.gaps:
        yield f"{stands}; from what is on hand now there would be no answer"
        return
    yield f"{stands}; a new answer would differ:"
    for one in not_as_promised(anew):
        yield from (f"  {line}" for line in _difference(one, unit))


def _difference(one: GapDifference, unit: LengthUnit) -> Iterator[str]:
    if one.was is None:
        yield f"{one.gap}: nothing was promised"
    elif one.now is None:
        yield f"{_gap(one.gap, one.was, unit)} was promised, and it is in no answer now"
    else:
        then, now = (f"{_figure(one, gap, unit)}" for gap in (one.was, one.now))
        yield f"{one.gap}: {then} then, {now} now"
        if one.as_measured is not None:
            figure = show(one.as_measured, unit)
            yield f"  as measured, the parts promised would give {figure}"
        if one.out or one.instead:
            yield f"  out: {_parts(one.out)}"
            yield f"  in: {_parts(one.instead)}"
        elif one.was.parts != one.now.parts:
            yield "  the same parts in another order"


def _figure(one: GapDifference, gap: PromisedGap, unit: LengthUnit) -> str:
    """Write a figure with its layout where that differs; exact where rounding hides all."""
    was, now = one.was, one.now
    alike = was and now and was.gap != now.gap and show(was.gap, unit) == show(now.gap, unit)
    figure = exact(gap.gap, unit) if alike else show(gap.gap, unit)
    return figure + f" ({gap.layout})" * bool(was and now and was.layout != now.layout)


def _gap(name: str, gap: PromisedGap, unit: LengthUnit) -> str:
    return f"{name}: {show(gap.gap, unit)}"


def _parts(parts: tuple[tuple[str, int], ...]) -> str:
    return ", ".join(f"{number} x {name}" for name, number in parts) or "nothing"
