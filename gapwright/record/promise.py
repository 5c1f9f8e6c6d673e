"""The promise of a job: made of an answer, kept in its file or its ledger, held against others."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from gapwright.fit.assembly import fetched
from gapwright.fit.listed_parts import part_text, parts_by_place
from gapwright.output.together import ChangedError, Rewrite, write_together
from gapwright.record.book import read_book
from gapwright.record.lots import in_bin_order
from inventory import open_shelf
from inventory.movements import Note, Request
from specs.errors import InputError, Problem, shortened
from specs.files.digest import made_from
from specs.files.notes import CLOSED, PROMISE, closed_in, note_text, promised_in
from specs.files.read_many import TABLES
from specs.formats.plain_file import content
from specs.formats.yaml import parse
from specs.formats.yaml_edit import with_value
from specs.gaps.built import promised_parts
from specs.gaps.job_gap import JobGap, as_measured
from specs.models.record import Closed, Promised, PromisedGap, Taken, plain
from specs.parts.lookup import ListedBuild, PartError, selective
from specs.values.lengths import parse_exact, show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gapwright.fit.assembly import GapAssembly
    from gapwright.fit.report import BuildReport, Report
    from gapwright.record.book import Book
    from gapwright.shelf.service import Author
    from inventory import Shelf
    from specs.models.case import Case
    from specs.models.lot import Lot
    from specs.values.lengths import Length

PERCENT = 10_000
"""Of the millionths in which chances are counted."""
A_COMEBACK = "a unit that comes back is a new job: give it a name of its own"


@dataclass(frozen=True, slots=True)
class GapDifference:
    """One gap of which another build or another figure is promised than was before."""

    gap: str
    was: PromisedGap | None
    """What was promised before; None where nothing was."""
    now: PromisedGap | None
    """What is promised now; None where it is of no answer any more."""
    out: tuple[tuple[str, int], ...]
    """The parts that were promised and are not any more, each by its name, with their number."""
    instead: tuple[tuple[str, int], ...]
    """The parts that come in their place."""
    as_measured: Length | None = None
    """What the parts promised would give over those measured before they go in, if any."""


def promise_of(report: BuildReport, day: str) -> Promised:
    """Make the promise of a build.

    Parameters
    ----------
    report
        What is built of a job; it says how sure each gap is.
    day
        The day to keep it under, as YYYY-MM-DD.
    """
    case = report.case
    promised = Promised.model_construct(
        on=day,
        job=case.job.name,
        unit=case.unit.name,
        answer="",
        from_=made_from(case),
        gaps={gap.name: _gap(report, gap) for gap in report.gaps},
        takes=tuple(_takes(case, report.gaps)),
    )
    return promised.model_copy(update={"answer": promised.code})


def _gap(report: BuildReport, gap: GapAssembly) -> PromisedGap:
    if report.sure is None:
        raise ValueError("only a build that was examined can be promised")
    case, sure = report.case, report.sure.of(gap.name)
    return PromisedGap.model_construct(
        layout=case.unit.gaps[gap.name].layout_meant(gap.layout),
        parts=parts_by_place(case, gap),
        gap=gap.gap,
        u=parse_exact(show(sure.u, case.length)),
        sure=Fraction(sure.chance.least, PERCENT),
        space=report.spaces[gap.name].length,
    )


def _takes(case: Case, gaps: tuple[GapAssembly, ...]) -> Iterator[Taken]:
    """Yield what a build takes from the shelf, lot by lot in the order of the bins."""
    lots = (lot for _, lot in fetched(gaps) if lot.id or not lot.own)  # what was issued has an id
    counts = Counter(one_of(case, lot) for lot in lots)
    for taken in in_bin_order(counts):
        yield taken.model_copy(update={"count": counts[taken]})


def one_of(case: Case, lot: Lot) -> Taken:
    """Return one part of a lot as a promise writes it: as the shelf lists it."""
    as_sold = case.unit.families[lot.family].sizes[lot.size].nominal
    measured = (lot.measured or lot.thickness != as_sold) and not lot.listed_as_sold
    return Taken.model_construct(
        family=lot.family, size=lot.size, bin=lot.bin or None, count=1,
        thickness=lot.thickness if measured else None, condition=lot.condition,
        lot=lot.lot or None, code=lot.id or None,
    )  # fmt: skip


# Where a promise is kept: as a note of the ledger a job takes from, or in the job's file.


def standing_promise(case: Case, book: Book | None = None) -> Promised | None:
    """Return the promise that stands for a job; None where nothing was promised.

    Parameters
    ----------
    case
        The job's files as read.
    book
        What its ledger holds of it, where that was read before.

    Raises
    ------
    InputError
        Where its ledger cannot be read.
    """
    if not case.ledger:
        return case.job.promised
    found = (book or read_book(case.ledger, case.job.name)).promised(case.job.name)
    return found if found and found.unit == case.unit.name else case.job.promised


def standing_closing(case: Case, book: Book | None = None) -> Closed | None:
    """Return how a job was closed; None where it is open. Parameters and errors as before."""
    if not case.ledger:
        return case.job.closed
    book = book or read_book(case.ledger, case.job.name)
    promised = book.promised(case.job.name)
    another = promised is not None and promised.unit != case.unit.name
    return (None if another else book.closed(case.job.name)) or case.job.closed


def check_keepable(cases: Iterable[Case]) -> None:
    """Raise InputError where the promises of some jobs cannot be kept, with all that is wrong."""
    by_ledger: dict[str, list[Case]] = {}
    problems: list[Problem] = []
    for case in cases:
        found = [*_unkeepable(case)]
        problems += found
        if case.ledger and not found:
            by_ledger.setdefault(case.ledger, []).append(case)
    for address, mine in by_ledger.items():
        with open_shelf(address) as shelf:
            problems += [problem for case in mine for problem in _taken(shelf, case)]
    if problems:
        raise InputError(*problems)


def keep_promise(case: Case, promised: Promised, author: Author | None) -> Promised:
    """Keep a promise where the job's are kept, and return the one that then stands.

    Parameters
    ----------
    case
        The job's files as read.
    promised
        What is promised. Where the same answer stands already, it is left with its day.
    author
        Who promises and why; a ledger needs it.

    Raises
    ------
    ChangedError
        Where the job's file was changed since it was read; it is left as it is.
    InputError
        Where the promise cannot be kept, or the file or ledger cannot be written.
    """
    if case.ledger and author is not None:
        with open_shelf(case.ledger) as shelf:
            stands, notes = promise_notes(shelf, case, promised)
            if notes:
                key, why = author.key or uuid4().hex, author.why or "promise"
                shelf.post(Request(key, author.who, why, (), notes))
        return stands
    standing = case.job.promised
    if standing and standing.answer == promised.answer:
        return standing
    _keep_in_file(case, promised)
    return promised


def promise_notes(
    shelf: Shelf, case: Case, promised: Promised
) -> tuple[Promised, tuple[Note, ...]]:
    """Return the promise that stands once it is kept in a ledger, and the notes to post for that.

    There is none to post where the same answer stands already. Raises InputError where the job's
    name is that of another job there, or of a closed one.
    """
    problems = [*_taken(shelf, case)]
    if problems:
        raise InputError(*problems)
    standing = _noted(shelf, case.job.name)
    if standing and standing.answer == promised.answer:
        return standing, ()
    return promised, (Note(PROMISE, case.job.name, note_text(promised, case.length)),)


def _noted(shelf: Shelf, job: str) -> Promised | None:
    """Return the last promise that a ledger has under the name of a job."""
    notes = shelf.notes(PROMISE, job)
    return promised_in(notes[-1].note.text, shelf.name) if notes else None


def _taken(shelf: Shelf, case: Case) -> Iterator[Problem]:
    """Yield why nothing more is promised under the name of a job on its ledger."""
    origin, name = case.origins["job"], case.job.name
    closed, standing = shelf.notes(CLOSED, name), _noted(shelf, name)
    if closed:
        day = closed_in(closed[-1].note.text, shelf.name).on
        sentence = f'"{shortened(name)}" was closed on {day} in {shelf.name}; {A_COMEBACK}'
        yield origin.problem(("name",), sentence)
    elif standing and standing.unit != case.unit.name:
        sentence = (
            f'"{shortened(name)}" is promised in {shelf.name} for another unit, '
            f"{shortened(standing.unit)}, since {standing.on}; give this job a name of its own"
        )
        yield origin.problem(("name",), sentence)


def _unkeepable(case: Case) -> Iterator[Problem]:
    """Yield why a promise cannot be kept, as far as the job's files alone tell."""
    origin = case.origins["job"]
    if case.job.closed:
        yield origin.problem(
            ("closed",), f"the job was closed on {case.job.closed.on}; {A_COMEBACK}"
        )
    elif case.ledger and not origin.written(("name",)):
        sentence = "the job has no name to keep it under; write one: name: J-1042"
        yield origin.problem(("name",), sentence)
    elif not case.ledger and Path(origin.source.file).suffix.lower() in TABLES:
        sentence = (
            "a row of a table keeps no promise: write the job as a file of its own, or take its "
            "parts from a ledger, which keeps it"
        )
        yield origin.problem(("name",), sentence)


def _keep_in_file(case: Case, promised: Promised) -> None:
    """Write a promise into the file its job was read from, all else kept as it is."""
    source = case.origins["job"].source
    raw = content(Path(source.file))
    if parse(raw, source.file).data != source.data:
        raise ChangedError(source.file)
    text = raw.decode()
    kept = with_value(text, ("job", "promised"), plain(promised, case.length), source.file)
    write_together([Rewrite(Path(source.file), text, kept)])


# What a later answer says otherwise.


def not_as_promised(report: Report) -> tuple[GapDifference, ...]:
    """Return the gaps in which an answer differs from the promise that stood; none without one."""
    if report.standing is None:
        return ()
    now = report.kept or promise_of(report, report.standing.on)
    return differences(report.case, report.standing, now)


def differences(case: Case, old: Promised, new: Promised) -> tuple[GapDifference, ...]:
    """Return the gaps in which two promises of one job differ: in parts, layout or figure.

    Parameters
    ----------
    case
        The job's files as read.
    old, new
        The promise that stood, and the one to hold against it.
    """
    names = [*old.gaps, *(name for name in new.gaps if name not in old.gaps)]
    pairs = [(name, old.gaps.get(name), new.gaps.get(name)) for name in names]
    return tuple(_difference(case, *pair) for pair in pairs if _build(pair[1]) != _build(pair[2]))


def _build(gap: PromisedGap | None) -> object:
    return gap and (gap.layout, gap.parts, gap.gap)


def _difference(
    case: Case, name: str, was: PromisedGap | None, now: PromisedGap | None
) -> GapDifference:
    measured = was and now and _over_measured(case, name, was)
    before, after = _named(case, name, measured or was), _named(case, name, now)
    return GapDifference(
        name, was, now, tuple((before - after).items()), tuple((after - before).items()),
        measured.gap if measured else None,
    )  # fmt: skip


def _over_measured(case: Case, name: str, promised: PromisedGap) -> PromisedGap | None:
    """Return a promised build over the parts measured before they go in; None if none were."""
    gap = JobGap(case, name)
    going_in = gap.going_in
    if going_in is None or going_in.layout != promised.layout:
        return None
    try:
        listed = gap.build(promised_parts(promised))
    except PartError:  # the unit has other sizes since
        return None
    parts = {
        label: tuple(as_measured(part, going_in.parts[label]) for part in here)
        for label, here in listed.parts.items()
    }
    build = ListedBuild(listed.layout, parts)
    left = gap.space(listed.layout).length - gap.height(build) * gap.layouts[listed.layout].sign
    words = [tuple(part_text(case, part) for part in here) for here in parts.values()]
    return promised.model_copy(update={"parts": tuple(words), "gap": left})


def _named(case: Case, name: str, gap: PromisedGap | None) -> Counter[str]:
    """Count the parts of a promised gap by name; by size alone where the unit has another stack."""
    if gap is None:
        return Counter()
    families: list[str] = []
    if name in case.unit.gaps and gap.layout in case.unit.gaps[name].arrangements:
        layout = case.unit.gaps[name].arrangements[gap.layout]
        parts = [layout.stack[index].part for index, _ in selective(case.unit, layout)]
        families = [f"{case.unit.family_name(part)} " for part in parts]
    if len(families) != len(gap.parts):
        families = [""] * len(gap.parts)
    pairs = zip(families, gap.parts, strict=True)
    return Counter(f"{family}{size}" for family, sizes in pairs for size in sizes)
