"""The sentences of a kit's check: the spaces it covers, what it lacks, what a job leaves over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.cover.answer import spans, to_the_limit
from gapwright.cover.text import LIMIT, between, hole_words, strip
from gapwright.fit.gap_text import chosen_words, gap_name, gap_words, waiting, window_words
from gapwright.fit.no_fit_text import advice
from gapwright.fit.text import CAUTION, UNDECIDED, headline
from gapwright.kit.service import statuses
from gapwright.output.money import money
from gapwright.output.text_table import table
from gapwright.record.former_units_text import doubt_words, uncounted_words
from gapwright.shelf.text import part_words, so_many, when
from solver.problem.solution import Fit, NoFit
from specs.parts.kit_contents import also_held, kit_of
from specs.values.lengths import number, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.cover.service import Covered
    from gapwright.kit.left_over import LeftOver
    from gapwright.kit.packing import Packed
    from gapwright.kit.service import KitCheck, Lack
    from specs.parts.kit_contents import Sizes
    from specs.values.lengths import LengthUnit


def check_text(check: KitCheck, unit: LengthUnit) -> Iterator[str]:
    """Write a whole check line by line, with the caution where a job is built from the kit."""
    yield from _lines(check, unit)
    yield from ("", CAUTION) if check.job else ()


def _lines(check: KitCheck, unit: LengthUnit) -> Iterator[str]:
    kit = kit_of(check.case)
    yield f"{kit.name}, {check.case.unit.name}: {verdict(check)}"
    yield f"  {_worth(check)}"
    yield from (f"  with {name}: {kit.options[name].when}" for name in check.options)
    for name, option in kit.options.items():
        if name not in check.options:
            yield f'  without {name}, to take when {option.when}: --with "{name}"'
    yield ""
    yield "covers, each alone: it may draw on the whole kit"
    width = max((len(one.moving.name) for one in check.covers), default=0)
    for covered in check.covers:
        yield from _cover(covered, width, unit)
    yield from (f"  {name}: cannot be gone through: {why}" for name, why in check.not_covered)
    if check.nothing_to_choose:
        yield f"  nothing to choose, and nothing to cover: {', '.join(check.nothing_to_choose)}"
    if check.past:
        past = check.past
        text = f"{past.served} of {past.drums} served, {', '.join(past.gaps)} out of one kit"
        close = f"; {past.only_to_limit} of these only up to the limit" * bool(past.only_to_limit)
        yield f"  past drums: {text}{close}"
        yield from (f"  {line}" for line in uncounted_words(past.uncounted))
    yield from _lacks(check)
    if check.job:
        yield ""
        yield from _job(check.job, unit)


def verdict(check: KitCheck) -> str:
    """Say in a few words whether a kit is complete, and what it lacks."""
    if check.complete:
        return "UNDECIDED, stopped early" if check.undecided else "COVERS ALL IT IS FOR"
    facts = {
        so_many(check.unserved, "gap not served", "gaps not served"): check.unserved,
        so_many(check.holes, "hole"): check.holes,
        so_many(len(check.not_covered), "gap not covered", "gaps not covered"): check.not_covered,
        so_many(check.short, "family short", "families short"): check.short,
        so_many(len(check.left_out), "part left out", "parts left out"): check.left_out,
    }
    return f"NOT COMPLETE: {', '.join(words for words, lacks in facts.items() if lacks)}"


def _worth(check: KitCheck) -> str:
    also = also_held(check.case, check.options).total()
    count = check.contents.total() + also
    if check.price is None:
        return f"{so_many(count, 'part')}, the unit file has no price of any"
    if check.unpriced or also:
        return f"{so_many(count, 'part')}; those with a price come to {money(check.price)}"
    return f"{so_many(count, 'part')}, {money(check.price)}"


def _cover(covered: Covered, width: int, unit: LengthUnit) -> Iterator[str]:
    name = f"{covered.moving.name:<{width}}"
    yield f"  {name}  [{strip(covered)}]"
    indent = " " * (width + 4)
    reach = f"{number(covered.at(0), unit)} to {show(covered.last, unit)}"
    if any(one.undecided for one in covered.served):
        yield f"{indent}undecided in part, for want of time; give it more: --time 300"
    if "fit" not in statuses(covered):
        yield f"{indent}serves nothing of {reach}" + " so far" * ("unknown" in statuses(covered))
        return
    served = ", ".join(between(covered, run, unit) for run in spans(covered))
    yield f"{indent}serves {served}, of {reach}"
    close = ", ".join(between(covered, run, unit) for run in to_the_limit(covered))
    if close:
        yield f"{indent}of these only up to the limit, marked {LIMIT}: {close}"
    yield from (f"{indent}hole: {hole_words(covered, hole, unit)}" for hole in covered.holes)


def _lacks(check: KitCheck) -> Iterator[str]:
    if check.lacks:
        yield ""
        yield "short of what the unit takes"
        yield from (f"  {_lack_words(lack)}" for lack in check.lacks)
    if check.left_out:
        yield ""
        yield "always replaced, and left out"
        for part in check.left_out:
            yield (
                f"  {part.name}: {part.held} of {part.count}; {part.because} (the {part.said_by} "
                "file says so)"
            )


def _lack_words(lack: Lack) -> str:
    """Say how many parts of a family there are, and how many the unit takes."""
    least, most = lack.need.least, lack.need.most
    takes = str(least) if least == most else f"{least} to {most}"
    return f"{lack.family}: {lack.held or 'none'}; the unit takes {takes}"


def _job(job: LeftOver, unit: LengthUnit) -> Iterator[str]:
    report = job.report
    yield headline(report).replace(": ", ", from the kit alone: ", 1)
    yield from doubt_words(report.former, report.case, unit)
    if isinstance(report.answer, Fit):
        for gap in report.gaps:
            yield f"  {gap_name(gap)}: {gap_words(gap, unit)}   {window_words(gap, unit)}"
            yield f"    {chosen_words(gap) or 'nothing to choose'}"
        yield from _left(job.left)
    elif isinstance(report.answer, NoFit):
        yield from advice(report, report.answer, unit)
    else:
        yield UNDECIDED
    yield from waiting(report, unit)


def _left(left: Sizes) -> Iterator[str]:
    if not left:
        yield "left over: nothing"
        return
    yield f"left over: {so_many(left.total(), 'part')}"
    yield from (f"  {count} x {_size_name(*size)}" for size, count in left.items())


def packed_text(packed: Packed, unit: LengthUnit) -> Iterator[str]:
    """Say line by line what was drawn for kits, and what is still to be put in."""
    packing, posted = packed.packing, packed.posted
    if posted.again:
        yield f"posted before, {when(posted.entries[0].time)}; nothing was posted twice"
    number = sum(entry.movement.number for entry in posted.entries)
    kits = f"{packing.count} x {kit_of(packing.case).name}"
    yield f"{kits}: {so_many(number, 'part')} drawn for {packing.name}"
    rows = [
        (
            f"{entry.movement.number} x {part_words(entry.movement.part, unit)}",
            f"{entry.on_hand} left",
        )
        for entry in posted.entries
    ]
    yield from (f"  {row}" for row in table(rows))
    yield from (f"  {n} x {_size_name(*size)}, by hand" for size, n in packed.by_hand.items())


def _size_name(family: str, size: str) -> str:
    """Return a part of a kit as one name."""
    return f"{family} {size}".rstrip()
