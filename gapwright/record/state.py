"""The state of a job, worked out from its file, its promise and its shelf; nothing is solved.

measuring    readings are missing            taken     its parts went out to it
to choose    all are read, nothing promised  built     some gaps are measured after assembly
chosen       a promise stands                checked   all are, and each is as promised
waiting      what it takes is not on hand    closed    the record is complete
reserved     the shelf holds parts for it
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from gapwright.record.lots import lot_key
from gapwright.record.promise import standing_closing, standing_promise
from specs.checks.job import misfits
from specs.errors import InputError, Problem
from specs.files.digest import record_code
from specs.findings import dotted
from specs.gaps.built import built, parts_of, promised_parts
from specs.gaps.job_gap import JobGap

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from gapwright.record.book import Book
    from gapwright.record.lots import KeptLot, LotKey
    from specs.models.case import Case
    from specs.models.job import AsBuilt
    from specs.models.record import Closed, Promised, PromisedGap, Taken

StateName = Literal[
    "closed", "checked", "built", "taken", "reserved", "waiting for parts", "chosen", "measuring",
    "to choose",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class JobState:
    """Where a job is, and what it waits for."""

    name: StateName
    unread: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """While measuring: the readings that are missing, by gap."""
    unbuilt: tuple[str, ...] = ()
    """Once built: the promised gaps that were not measured after assembly."""
    off: tuple[str, ...] = ()
    """Once built: the gaps that are not as promised, or not within their windows."""
    parts: tuple[Taken, ...] = ()
    """What is to be fetched; while waiting for parts, what is not on hand of it."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands for a job in its file and its ledger."""

    promised: Promised | None
    closed: Closed | None
    held: int
    """How many parts the shelf holds for it."""
    out: int
    """How many parts went out to it and have not come back."""

    def changed(self, case: Case) -> bool:
        """Say whether the job was changed since it was closed."""
        return bool(self.closed and self.closed.record != record_code(case, self.promised))


def standing_of(case: Case, book: Book | None, lots: Iterable[KeptLot]) -> Standing:
    """Return what stands for a job.

    Parameters
    ----------
    case
        The job's files as read.
    book
        What its ledger holds; None where its shelf is a file.
    lots
        The lots of its shelf.

    Raises
    ------
    InputError
        Where its promise was changed by hand, or is of gaps and parts that the unit does not have.
    """
    named = case.origins["job"].written(("name",))
    if book is None:
        held = sum(lot.holders.get(named, 0) for lot in lots) if named else 0
        return Standing(case.job.promised, case.job.closed, held, 0)
    if not named:
        return Standing(case.job.promised, case.job.closed, 0, 0)
    account, promised = book.account(named), standing_promise(case, book)
    if promised:
        check_promise(case, promised)
    closed = standing_closing(case, book)
    return Standing(promised, closed, account.held.total(), account.out.total())


def check_promise(case: Case, promised: Promised) -> None:
    """Raise InputError where a ledger's promise is not of gaps and parts that the unit has."""
    findings = [*misfits(case, promised, "keep an answer anew: `gapwright fit --promise`")]
    problems = [Problem(one.sentence, case.ledger, 0, dotted(one.path)) for one in findings]
    if problems:
        raise InputError(*problems)


def state_of(case: Case, standing: Standing, lots: Mapping[LotKey, KeptLot]) -> JobState:
    """Work out the state of a job.

    Parameters
    ----------
    case
        The job's files as read.
    standing
        What stands for it.
    lots
        The lots of its shelf, by `lot_key`.
    """
    promised = standing.promised
    if standing.closed:
        return JobState("closed")
    if any(work.as_built for work in case.job.gaps.values()):
        return after_assembly(case, promised)
    takes = promised.takes if promised else ()
    if standing.out:
        return JobState("taken")
    if standing.held:
        return JobState("reserved", parts=takes)
    if promised:
        short = tuple(filter(None, (_short(case, taken, lots) for taken in takes)))
        return (
            JobState("waiting for parts", parts=short) if short else JobState("chosen", parts=takes)
        )
    unread = {name: JobGap(case, name).missing() for name in case.unit.gaps}
    unread = {name: readings for name, readings in unread.items() if readings}
    return JobState("measuring", unread=unread) if unread else JobState("to choose")


def after_assembly(case: Case, promised: Promised | None) -> JobState:
    """Return the state of a job as what was measured after assembly has it."""
    wanted = promised.gaps if promised else {}
    measured = {name: work.as_built for name, work in case.job.gaps.items() if work.as_built}
    unbuilt = tuple(name for name in case.unit.gaps if name in wanted and name not in measured)
    off = tuple(
        name
        for name in case.unit.gaps
        if name in measured and not _is_good(case, name, measured[name], wanted.get(name))
    )
    done = promised is not None and not unbuilt and not off
    return JobState("checked" if done else "built", unbuilt=unbuilt, off=off)


def _is_good(case: Case, name: str, as_built: AsBuilt, promised: PromisedGap | None) -> bool:
    """Say whether a gap measured after assembly is even, within its window and as promised."""
    parts = parts_of(as_built) or (promised_parts(promised) if promised else None)
    if parts is None:
        return True  # nobody knows what went in, so that nothing is held against it
    return built(JobGap(case, name), as_built, parts, promised).agrees


def _short(case: Case, taken: Taken, lots: Mapping[LotKey, KeptLot]) -> Taken | None:
    """Return what is not on hand of what a promise takes of one lot; None where all is."""
    lot = lots.get(lot_key(taken))
    lacking = taken.count - (lot.left_for(case.job.name) if lot else 0)
    return taken.model_copy(update={"count": lacking}) if lacking > 0 else None
