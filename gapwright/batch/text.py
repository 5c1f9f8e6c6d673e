"""The sentences of a plan: which jobs are complete, which are left, and for want of which parts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from gapwright.batch.service import SOON, URGENT
from gapwright.batch.tables import of_sizes, short_of
from gapwright.fit.conformance_text import job_words as together_words
from gapwright.fit.conformance_text import percent, sure_words
from gapwright.fit.gap_text import (
    checked_only,
    gap_name,
    gap_text,
    no_reading_words,
    notes_of,
    place_of,
)
from gapwright.fit.part_remarks import OF_THE_SHOP, remark_words
from gapwright.fit.text import CAUTION, minded, notes
from gapwright.output.money import exact_money
from gapwright.record.former_units_text import doubt_words, heard_words
from gapwright.shelf.text import packs_words, part_words, so_many
from specs.values.lengths import Length, show

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from gapwright.batch.service import PlanReport
    from gapwright.batch.several_shelves import Plans
    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.part_remarks import PartRemark
    from gapwright.fit.report import BuildReport
    from solver.batch.purchase import Order
    from solver.batch.shadow_prices import ShadowPrice
    from solver.batch.shortages import Lacking
    from specs.values.lengths import LengthUnit

MOST_NAMED = 12


def plan_text(report: PlanReport, unit: LengthUnit | None) -> Iterator[str]:
    """Write a whole plan line by line, with the caution at its end."""
    yield from _lines(report, unit)
    yield from ("", CAUTION)


def plans_text(plans: Plans, unit: LengthUnit | None) -> Iterator[str]:
    """Write the plan of every shelf line by line; of one shelf, just that plan."""
    several = len(plans.by_shelf) > 1
    if several:
        yield verdict_of(plans.by_shelf)
    for shelf, report in plans.by_shelf.items():
        yield from ("", f"== {shelf}") if several else ()
        yield from _lines(report, unit)
    yield from ("", CAUTION)


def _lines(report: PlanReport, unit: LengthUnit | None) -> Iterator[str]:
    yield verdict(report)
    yield from how_found(report, unit)
    for job in report.gaps:
        yield ""
        yield from job_words(report, job, unit)
    left = left_over(report)
    if left:
        yield ""
        yield "left"
    for job in left:
        yield from (f"  {line}" for line in left_words(report, job, unit))
    yield from closed_words(report)
    yield from reserved_words(report)
    yield ""
    yield from _sizes(report)
    worths = [*worth_words(report, unit)]
    if worths:
        yield from ("", "one more of a size that is used up", *worths)
    for order in order_words(report):
        yield from ("", *order)


def verdict_of(reports: dict[str, PlanReport]) -> str:
    """Say how many jobs can be completed from all shelves together."""
    if len(reports) == 1:
        return verdict(next(iter(reports.values())))
    shelves = f"{len(reports)} shelves, each planned by itself"
    return f"{shelves}: {_completed(reports.values())}"


def verdict(report: PlanReport) -> str:
    """Say how many jobs can be completed, how many close to a limit, and whether it is proved."""
    proof = "proved best" if report.plan.proved else "not proved best"
    return f"{_completed([report])}, {proof}"


def _completed(reports: Collection[PlanReport]) -> str:
    built = [one for report in reports for one in report.built.values()]
    jobs, near = sum(len(report.cases) for report in reports), sum(bool(one.close) for one in built)
    told = f"{len(built)} of {jobs} jobs can be completed"
    return told + (f", {near} of them CLOSE TO THE LIMIT" if near else "")


def how_found(report: PlanReport, unit: LengthUnit | None) -> Iterator[str]:
    """Say what is not proved or not said, which jobs to look at first, how jobs were weighed."""
    yield from _open(report)
    yield from _of_the_shop(report, unit)
    yield from _to_mind(report)
    if any(case.job.due for case in report.cases):
        yield (
            f"on {report.day}: a job due within {URGENT} days counts 4 times its priority, "
            f"within {SOON} days 2 times"
        )
    yield from (f"  {line}" for line in _heard(report))


def _heard(report: PlanReport) -> Iterator[str]:
    """Say once for all jobs how many former units were heard, and which kept jobs do not count."""
    heard = (line for found in report.former for line in heard_words(found))
    yield from dict.fromkeys(heard)


def _to_mind(report: PlanReport) -> Iterator[str]:
    """Name the jobs with a remark that comes before any part is changed; the least sure first."""
    near = sorted(
        (one.close[0].chance.least, one.case.job.name) for one in report.built.values() if one.close
    )
    again = [one.case.job.name for one in report.built.values() if one.reseat]
    tilted = [one.case.job.name for one in report.built.values() if one.sure and one.sure.tilted]
    doubted = [
        f"{case.job.name} ({', '.join(far.gap for far in found.far)})"
        for case, found in zip(report.cases, report.former, strict=True)
        if found.far
    ]
    for words, names in (
        ("DOUBT THE READINGS of", doubted),
        ("CLOSE TO THE LIMIT:", [f"{name} ({percent(chance)} sure)" for chance, name in near]),
        ("READ AGAIN FIRST:", again),
        ("TILTED?", tilted),
    ):
        if names:
            yield f"  {words} {_named(names)}"


def left_over(report: PlanReport) -> list[int]:
    """Return the numbers of the jobs that are not completed."""
    return [job for job in range(len(report.cases)) if job not in report.gaps]


def _open(report: PlanReport) -> Iterator[str]:
    """Name the levels that are not proved, each with its bound."""
    for level, reached in zip(report.plan.batch.levels, report.plan.reached, strict=True):
        if reached.proof == "open":
            yield (
                f"  stopped at `{level.aim}` ({level.measure}): found {reached.value}, cannot be "
                f"below {reached.bound}; the aims after it were not looked at"
            )
            return
        if reached.proof == "engine":
            yield (
                f"  `{level.aim}` ({level.measure}) is proved by {report.plan.engine} to its "
                "tolerance, not in whole numbers"
            )


def _head(report: PlanReport, job: int) -> str:
    planned, case = report.plan.batch.jobs[job], report.cases[job]
    marks = [f"counts {planned.priority}"] * (planned.priority != 1)
    marks += [f"due {case.job.due}"] * bool(case.job.due)
    marks += ["pinned"] * planned.pinned
    return f"{planned.name}, {case.unit.name}" + (f" ({', '.join(marks)})" if marks else "")


def job_words(report: PlanReport, job: int, unit: LengthUnit | None) -> Iterator[str]:
    """Describe a completed job: each gap with its figure and the parts it draws."""
    yield _head(report, job)
    built, lengths = report.built[job], unit or report.cases[job].length
    yield from _doubts(report, job, lengths)
    first = (line for line in minded(built, lengths) if not line.startswith(" "))
    yield from (f"  {line}" for line in first)
    names = [gap_name(gap) for gap in built.gaps]
    widest = max(map(len, names), default=0)
    for name, gap in zip(names, built.gaps, strict=True):
        chance = f", {percent(built.sure.of(gap.name).chance.least)} sure" if built.sure else ""
        yield f"  {name:<{widest}}  {gap_text(gap, lengths)}{chance}  {_parts(gap)}"
        yield from (f"    {line}" for line in _remarks(built, gap, lengths))
    together = together_words(built.sure) if built.sure else ()
    yield from (f"  {line}" for line in (*together, *notes(_of_the_job(built), lengths)))
    yield from _waiting(report, job, lengths)


def _doubts(report: PlanReport, job: int, unit: LengthUnit) -> Iterator[str]:
    """Say which readings of a job are doubted, and what to look at first."""
    lines = doubt_words(report.former[job], report.cases[job], unit)
    yield from (f"  {line}" for line in lines)


def _remarks(built: BuildReport, gap: GapAssembly, unit: LengthUnit) -> Iterator[str]:
    """Say of a gap, a line for each, what to measure again and what else `fit` remarks on."""
    if built.sure:
        _, *again = sure_words(built.sure, gap.name, unit)
        yield from again
    yield from [words for words in (checked_only(built, gap),) if words]
    yield from notes_of(built, gap, unit)


def _parts(gap: GapAssembly) -> str:
    """List the chosen parts from the one that goes in first, with their bins."""
    words: list[tuple[str, int]] = []
    for line in gap.steps:
        if line.lot is None:
            continue
        place = place_of(line.lot)
        place = "" if place == "shelf" else place
        word = f"{line.family} {line.size}" + (f" [{place}]" if place else "")
        if words and words[-1][0] == word:
            words[-1] = (word, words[-1][1] + 1)
        else:
            words.append((word, 1))
    return ", ".join(f"{count} x {word}" if count > 1 else word for word, count in words)


def _part_remarks(report: PlanReport, job: int, unit: LengthUnit) -> Iterator[str]:
    """Say what is to be minded of a job's parts, but for what is told once for all jobs."""
    for remark in report.remarks[job]:
        if remark.kind not in OF_THE_SHOP:
            yield f"  {remark_words(remark, unit)}"


def _of_the_job(built: BuildReport) -> BuildReport:
    """Leave out what a plan tells once for all jobs."""
    kept = tuple(one for one in built.remarks if one.kind not in OF_THE_SHOP)
    return replace(built, remarks=kept)


def _of_the_shop(report: PlanReport, unit: LengthUnit | None) -> Iterator[str]:
    """Name the worn parts of the shelf and ask what the unit files do not say, once for all."""
    told: dict[tuple[PartRemark, str, LengthUnit], None] = {}
    for case, remarks in zip(report.cases, report.remarks, strict=True):
        for one in remarks:
            if one.kind in OF_THE_SHOP:
                asked = f"{case.unit.name}, " if one.kind == "one part or several" else ""
                told[one, asked, unit or case.length] = None
    yield from (asked + remark_words(remark, shown) for remark, asked, shown in told)


def _waiting(report: PlanReport, job: int, unit: LengthUnit) -> Iterator[str]:
    for gap, names in report.waiting[job].items():
        if gap in report.unread[job]:
            lines = no_reading_words(report.cases[job], gap, report.unread[job][gap], unit)
            yield from (f"  {line}" for line in lines)
        else:
            yield f"  {gap} waits for {', '.join(names)}"


def _only_waits(report: PlanReport, job: int) -> bool:
    """Tell whether all gaps of a job wait, so that nothing of it was planned."""
    return len(report.waiting[job]) == len(report.cases[job].unit.gaps)


def left_words(report: PlanReport, job: int, unit: LengthUnit | None) -> Iterator[str]:
    """Describe a job that is left: the parts it lacks, how near it comes, what could be built."""
    planned = report.plan.batch.jobs[job]
    if _only_waits(report, job):
        yield f"{_head(report, job)}: no reading"
        yield from _part_remarks(report, job, unit or report.cases[job].length)
        yield from _waiting(report, job, unit or report.cases[job].length)
        return
    if planned.held:
        yield f"{_head(report, job)}: held back"
        return
    lacking = report.diagnostics.lacking.get(job)
    if lacking is None or not lacking.known:
        yield f"{_head(report, job)}: not looked into, time was up"
        return
    yield f"{_head(report, job)}: {_want(report, lacking)}"
    yield from _doubts(report, job, unit or report.cases[job].length)
    yield from _misses(report, lacking, unit or report.cases[job].length)
    yield from _part_remarks(report, job, unit or report.cases[job].length)
    built = [*lacking.buildable]
    if built and len(built) < len(planned.instance.gaps):
        yield f"  could be built of it from what is left: {', '.join(built)}"


def _want(report: PlanReport, lacking: Lacking) -> str:
    if not lacking.short:
        return "no parts of the unit's sizes would complete it"
    short = short_of(report, lacking.job).items()
    parts = [f"{count} x {family} {size}" for (family, size), count in short]
    return f"for want of {', '.join(parts)}"


def _misses(report: PlanReport, lacking: Lacking, unit: LengthUnit) -> Iterator[str]:
    instance = report.plan.batch.jobs[lacking.job].instance
    for gap, miss in zip(instance.gaps, lacking.misses, strict=False):
        if miss.status == "unfillable":
            yield f"  {gap.name}: too few parts on the whole shelf to fill its places"
        elif miss.status == "near" and miss.by:
            by, near = (show(Length(steps * instance.step), unit) for steps in (miss.by, miss.gap))
            yield f"  {gap.name}: nearest from the whole shelf {near}, {by} outside its window"


def closed_words(report: PlanReport) -> Iterator[str]:
    """Name the jobs that are closed and so were not planned."""
    if report.closed:
        yield f"closed, and not planned: {', '.join(report.closed)}"


def reserved_words(report: PlanReport) -> Iterator[str]:
    """Say what was posted to the shelf for the plan."""
    if report.reserved is None:
        return
    held = [
        sum(number for _, number in one.reserved) + one.kept for one in report.reserved.values()
    ]
    yield (
        f"reserved: {so_many(sum(held), 'part')} for {so_many(len(held), 'job')}, in one request "
        "with their promises"
    )
    for job, one in report.reserved.items():
        unit = report.cases[0].length
        left = ", ".join(f"{number} x {part_words(part, unit)}" for part, number in one.released)
        if left:
            yield f"  no longer reserved for {job}: {left}"
    if report.planned_again:
        yield "  (the shelf changed meanwhile, so this was planned again)"


def _sizes(report: PlanReport) -> Iterator[str]:
    rows = of_sizes(report)
    names = [f"{row.family} {row.size}" for row in rows]
    widest = max(map(len, [*names, "size"]))
    yield f"{'size':<{widest}}  on hand  drawn  short"
    for name, row in zip(names, rows, strict=True):
        short = str(row.short) if row.short else ""
        yield f"{name:<{widest}}  {row.on_hand:>7}  {row.drawn:>5}  {short:>5}".rstrip()


def worth_words(report: PlanReport, unit: LengthUnit | None) -> Iterator[str]:
    """Say what one more part of each size that is used up would improve."""
    gains = [worth for worth in report.diagnostics.worths if worth.level is not None]
    for worth in gains:
        yield f"  {' '.join(worth.size)}: {_gain(report, worth, unit)}"
    rest = [" ".join(worth.size) for worth in report.diagnostics.worths if worth.level is None]
    if rest:
        what = "aim" if report.diagnostics.looked_at == len(report.plan.batch.levels) else "job"
        yield f"  {_named(rest)}: betters no {what}"


def _gain(report: PlanReport, worth: ShadowPrice, unit: LengthUnit | None) -> str:
    level = worth.level
    if level is None:
        return ""
    match level.measure:
        case "priority":
            words = f"jobs that count {worth.gain} more"
        case "number":
            words = f"{worth.gain} job{'s' * (worth.gain > 1)} more"
        case "thin":
            works = "shift" if level.shifts else "hold"
            words = f"{worth.gain} thin steel{'s' * (worth.gain > 1)} fewer where packs {works}"
        case "deviation":
            length = Length(worth.gain * report.plan.batch.step)
            words = f"gaps nearer their aims by {show(length, unit or report.cases[0].length)}"
        case _:
            words = f"betters `{level.aim}`"
    return words + ("" if worth.proved else ", not proved")


def order_words(report: PlanReport) -> Iterator[list[str]]:
    """Describe each order that was looked for: its cost, what it completes, what to buy."""
    for order, words in (
        (report.diagnostics.one_more, "to complete one job more"),
        (report.diagnostics.for_all, "to complete all that can be"),
        (report.diagnostics.within, f"for no more than {exact_money(report.budget or 0)}"),
    ):
        if order is not None:
            yield [*_order(report, order, words)]


def _order(report: PlanReport, order: Order, words: str) -> Iterator[str]:
    batch = report.plan.batch
    done = sum(build is not None for build in order.builds)
    if not order.packs:
        yield f"order {words}: nothing that can be bought completes more"
        yield from _cannot(report, order)
        return
    cost = "its price is not stated" if order.cost is None else f"costs {exact_money(order.cost)}"
    proof = "proved cheapest" if order.proved else "not proved cheapest"
    yield f"order {words}: {cost}, {proof}; completes {done} of {len(batch.jobs)}"
    for item, packs in order.packs:
        spec = batch.items[item]
        yield f"  {packs_words(packs, spec.pack, f'{spec.family} {spec.size}')}"
    yield from _cannot(report, order)


def _cannot(report: PlanReport, order: Order) -> Iterator[str]:
    jobs = report.plan.batch.jobs
    beyond = [jobs[job].name for job in order.beyond_sizes]
    others = [jobs[job].name for job in order.cannot if job not in order.beyond_sizes]
    if beyond:
        yield f"  no size the units are made in could serve {_named(beyond)}: doubt their readings"
    if others:
        yield (
            f"  nothing that can be bought completes {_named(others)}: a kept part, a layout's "
            "condition, a rule or a shared part is in the way"
        )


def _named(names: list[str]) -> str:
    more = [f"and {len(names) - MOST_NAMED} more"] * (len(names) > MOST_NAMED)
    return ", ".join([*names[:MOST_NAMED], *more])
