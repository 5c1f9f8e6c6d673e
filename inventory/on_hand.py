"""The parts one job may take: the shelf less what others reserved, and the job's own parts."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

from inventory.movements import Balance
from inventory.naming import check_measured
from specs.errors import InputError, Problem
from specs.gaps.job_gap import in_the_drum, lots_of
from specs.models.lot import Lot
from specs.parts.lookup import NamedPart, PartError, find_size, is_measured
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from inventory.movements import Part
    from specs.models.case import Case


def on_hand(
    case: Case,
    gaps: tuple[str, ...],
    balances: Iterable[Balance] | None = None,
    issued: Mapping[Part, int] | None = None,
) -> tuple[Lot, ...]:
    """Return all lots that a job may take for the gaps that are built now.

    Parameters
    ----------
    case
        The job's files as read.
    gaps
        The names of the gaps that are built now; the job's own parts are those of these gaps.
    balances
        The balances of a shelf's ledger, in place of the shelf file.
    issued
        The parts that the ledger issued to the job: they are at hand as the unit's own.

    Returns
    -------
    tuple of Lot
        The shelf's parts, each once, and the unit's own. Parts of the trial build that are not
        the unit's are the shelf's; those it lacks are taken as the unit's and are `tried`.

    Raises
    ------
    InputError
        Where a lot of the ledger contradicts the unit.
    """
    drum = in_the_drum(case, gaps)
    mine, tried = _issued(case, issued or {}, drum.tried)
    parted, lacking = set_apart(case, _shelf(case, balances), tried)
    return (*parted, *mine, *lots_of(case, drum.own), *lots_of(case, lacking, tried=True))


def on_hand_together(
    jobs: Sequence[tuple[Case, tuple[str, ...]]],
    balances: Iterable[Balance] | None = None,
    issued: Sequence[Mapping[Part, int]] = (),
) -> list[tuple[Lot, ...]]:
    """Return all lots that each of several jobs may take from the shelf that they share.

    Parts of the shelf that lie in a trial build stay with their lot, on which all jobs draw. One
    that was measured there is a lot of its own for all of them, for its thickness is its own.

    Parameters
    ----------
    jobs
        Each job's files as read, with the names of the gaps that are built now.
    balances
        The balances of the shelf's ledger, in place of the shelf file.
    issued
        For each job the parts that the ledger issued to it.

    Returns
    -------
    list of tuple of Lot
        For each job what `on_hand` returns. A part of the shelf has the same `entry` for all jobs.

    Raises
    ------
    InputError
        Where a lot of the ledger contradicts a unit.
    """
    shelves = [_shelf(case, balances) for case, _ in jobs]
    measured: list[tuple[int, Lot]] = []
    own = []
    for nth, ((case, gaps), shelf) in enumerate(zip(jobs, shelves, strict=True)):
        drum = in_the_drum(case, gaps)
        mine, tried = _issued(case, issued[nth] if issued else {}, drum.tried)
        thickness = {lot.entry: lot.thickness for lot in shelf}
        parted, lacking = set_apart(case, _without(shelf, measured), tried)
        measured += (
            (nth, lot) for lot in parted if lot.tried and lot.thickness != thickness[lot.entry]
        )
        own.append((*mine, *lots_of(case, drum.own), *lots_of(case, lacking, tried=True)))
    return [
        (*_without(shelf, measured), *_measured_of(shelf, measured, nth), *mine)
        for nth, (shelf, mine) in enumerate(zip(shelves, own, strict=True))
    ]


def _issued(
    case: Case, issued: Mapping[Part, int], tried: Counter[NamedPart]
) -> tuple[tuple[Lot, ...], Counter[NamedPart]]:
    """Return what was issued to a job as lots of its own, and what else its trial builds hold.

    An issued part that was measured in a trial build is as thick as it measured.
    """
    lots, _ = _known(case, (Balance(part, part.lot_id, n, 0) for part, n in issued.items()))
    mine, left = set_apart(case, lots, tried)
    return tuple(replace(lot, own=True, entry="") for lot in mine), left


def _shelf(case: Case, balances: Iterable[Balance] | None) -> tuple[Lot, ...]:
    return shelf_lots(case) if balances is None else ledger_lots(case, balances)


def _without(shelf: Iterable[Lot], measured: Iterable[tuple[int, Lot]]) -> Iterator[Lot]:
    """Yield the lots of a shelf without the parts that were measured in trial builds."""
    gone: Counter[str] = Counter()
    for _, part in measured:
        gone[part.entry] += part.count
    for lot in shelf:
        if lot.count > gone[lot.entry]:
            yield replace(lot, count=lot.count - gone[lot.entry])


def _measured_of(
    shelf: Iterable[Lot], measured: Iterable[tuple[int, Lot]], job: int
) -> Iterator[Lot]:
    """Yield the parts measured in trial builds, as the shelf of a job names the lots they are of.

    Those of the job's own trial build are `tried`.
    """
    lots = {lot.entry: lot for lot in shelf}
    for nth, (tried_by, part) in enumerate(measured, 1):
        if part.entry in lots:
            yield replace(
                lots[part.entry], count=part.count, thickness=part.thickness, measured=True,
                tried=tried_by == job, listed_as_sold=True,
                entry=f"{part.entry}, part {nth} measured in a trial build",
            )  # fmt: skip


def set_apart(
    case: Case, lots: Iterable[Lot], tried: Counter[NamedPart]
) -> tuple[tuple[Lot, ...], Counter[NamedPart]]:
    """Part the lots of a shelf into what lies in a trial build and what does not.

    A part that was measured there is looked for among those of its thickness, then among those as
    sold, of which it is then one.

    Parameters
    ----------
    case
        The case.
    lots
        The lots of the shelf.
    tried
        The parts of the trial build that are not the unit's.

    Returns
    -------
    lots : tuple of Lot
        The same parts, those of the trial build `tried`.
    lacking : Counter of NamedPart
        The parts of the trial build that the shelf does not have.
    """
    left, found = list(lots), []
    lacking: Counter[NamedPart] = Counter()
    for part in sorted(tried, key=lambda one: is_measured(case.unit, one)):
        wanted = tried[part]
        for like in (_is, _may_be):
            for at, lot in enumerate(left):
                some = min(wanted, lot.count) if like(lot, part) else 0
                if some:
                    wanted -= some
                    left[at] = replace(lot, count=lot.count - some)
                    measured = lot.measured or lot.thickness != part.thickness
                    found.append(
                        replace(
                            lot,
                            count=some,
                            thickness=part.thickness,
                            measured=measured,
                            tried=True,
                            listed_as_sold=lot.listed_as_sold or not lot.measured,
                        )
                    )
        lacking[part] += wanted
    return (*found, *(lot for lot in left if lot.count)), +lacking


def _is(lot: Lot, part: NamedPart) -> bool:
    return (lot.family, lot.size, lot.thickness) == (part.family, part.size, part.thickness)


def _may_be(lot: Lot, part: NamedPart) -> bool:
    return (lot.family, lot.size) == (part.family, part.size) and not lot.measured


def catalogue(case: Case) -> tuple[Lot, ...]:
    """Return an empty lot for every size of the unit's families: the sizes to be bought."""
    return tuple(
        Lot(name, size, spec.nominal, 0)
        for name, family in case.unit.families.items()
        for size, spec in family.sizes.items()
    )


def shelf_lots(case: Case) -> tuple[Lot, ...]:
    """Return the lots of the shelf file, each with its thickness as measured or as sold.

    Several units may share one shelf, so families that this unit does not have are passed over.
    """
    file = case.origins["shelf"].source.file
    lots: list[Lot] = []
    rows = count()
    for family, sizes in case.shelf.items():
        if family not in case.unit.families:
            rows = count(next(rows) + sum(map(len, sizes.values())))
            continue
        for text, written in sizes.items():
            part = find_size(family, case.unit.families[family], text, case.shelf_length)
            for lot in written:
                here = Lot(
                    family,
                    part.size,
                    lot.thickness or part.thickness,
                    lot.count - lot.spoken_for,
                    condition=lot.condition,
                    measured=lot.thickness is not None or is_measured(case.unit, part),
                    gauge=lot.gauge or "",
                    within=lot.within or ZERO,
                    bin=lot.bin or "",
                    lot=lot.lot or "",
                    entry=f"{file}#{next(rows)}",
                )
                lots += _for_job(case, here, lot.reserved.get(case.job.name, 0))
    return tuple(lots)


def _for_job(case: Case, lot: Lot, held: int) -> list[Lot]:
    """Split a lot into the parts held for this job and those that anybody may take."""
    mine = replace(lot, count=held, entry=f"{lot.entry} for {case.job.name}")
    return [part for part in (mine, lot) if part.count]


def ledger_lots(case: Case, balances: Iterable[Balance]) -> tuple[Lot, ...]:
    """Return the lots of a ledger that this unit knows and this job may take.

    Parts reserved for this job count as on hand, parts reserved for others do not. One shelf serves
    several units, so families and sizes that this unit does not have are passed over. Raises
    InputError where a lot bears one size of the unit and measures another.
    """
    lots, found = _known(case, balances)
    mine: list[Lot] = []
    for lot, balance in zip(lots, found, strict=True):
        held = sum(number for job, number in balance.holders if job == case.job.name)
        mine += _for_job(case, lot, held)
    return tuple(mine)


def _known(case: Case, balances: Iterable[Balance]) -> tuple[list[Lot], list[Balance]]:
    """Return the lots of a ledger that this unit knows, with what anybody may take of them."""
    lots: list[Lot] = []
    known: list[Balance] = []
    problems = []
    for balance in balances:
        try:
            lot = _ledger_lot(case, balance)
        except PartError as error:
            problems.append(Problem(str(error), field=f"lot {balance.lot_id}"))
            continue
        if lot:
            lots.append(lot)
            known.append(balance)
    if problems:
        raise InputError(*problems)
    return lots, known


def unknown_sizes(case: Case, balances: Iterable[Balance]) -> tuple[Balance, ...]:
    """Return the lots on hand of the unit's families whose size the unit's file does not have."""
    return tuple(balance for balance in balances if balance.on_hand and _unknown(case, balance))


def _unknown(case: Case, balance: Balance) -> bool:
    family = case.unit.families.get(balance.part.family)
    if family is None or not family.sizes:
        return False
    try:
        find_size(balance.part.family, family, balance.part.size, None)
    except PartError:
        return True
    return False


def _ledger_lot(case: Case, balance: Balance) -> Lot | None:
    part, family = balance.part, case.unit.families.get(balance.part.family)
    if family is None or not family.sizes:
        return None
    try:
        found = find_size(part.family, family, part.size, None)
    except PartError:
        return None
    thickness = part.thickness or found.thickness
    check_measured(family, NamedPart(part.family, found.size, thickness), case.length)
    return Lot(
        part.family, found.size, thickness, balance.free, condition=part.condition,
        measured=part.thickness is not None or is_measured(case.unit, found),
        bin=part.bin, lot=part.label, id=balance.lot_id,
        entry=f"{case.ledger}#{balance.lot_id}",
    )  # fmt: skip
