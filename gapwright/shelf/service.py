"""The service of `shelf`: it posts movements to a ledger for a command or a page.

This file makes no sentences and prints nothing. A request that arrives again under its key is
answered from the ledger, before the shelf is asked for what it holds now.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from uuid import uuid4

from gapwright.shelf.names import AS_NEW, Names
from gapwright.shelf.notes import remember
from inventory import open_shelf
from inventory.movements import Balance, Movement, Request
from inventory.naming import WHICH, PartialName, the_lot
from inventory.refusals import ChangedShelfError, OtherRequestError, Out, ShortShelfError
from specs.errors import InputError, Problem
from specs.findings import nearest

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from gapwright.shelf.notes import UnitFile
    from inventory import Shelf
    from inventory.chain import Link
    from inventory.movements import Entry, Kind, Part

    Sums = dict[tuple[str, str, str], int]

MOST_TRIES = 5
BRINGING = ("receive", "count")
"""What is posted of a lot for no job."""
COMING = (*BRINGING, "return")
"""What can make a lot."""
FOUND = ("issue", "return")
"""What can be posted of a part in somebody's hand that the books deny."""
IN_HAND = "if it is in your hand all the same, {} it with --found"


@dataclass(frozen=True, slots=True)
class Author:
    """The author of a request and the reason for it.

    `key` is for a request that may arrive again, `seen` is the revision that the author looked at.
    """

    who: str
    why: str = ""
    key: str = ""
    seen: int | None = None


@dataclass(frozen=True, slots=True)
class Posted:
    """The ledger's entries for a request, and whether it had been posted before."""

    shelf: str
    entries: tuple[Entry, ...]
    again: bool = False
    new: bool = False
    """Whether its lot was not there before."""
    near: str = ""
    """A family of the shelf that may be meant, where the lot's is new to it."""


@dataclass(frozen=True, slots=True)
class Move:
    """One movement as somebody asks for it, with the part as far as it is stated."""

    kind: Kind
    wanted: PartialName
    number: int
    job: str = ""
    apart: bool = False
    """Make a lot of its own, whatever lots there are."""
    found: bool = False
    """The part is in somebody's hand, whatever the counts say."""
    new: bool = False
    """Its family or size is new, though its name is nearly a known one."""
    unit: UnitFile | None = None
    """The unit whose names were kept to; the shelf remembers them."""


def moved(address: str, move: Move, author: Author) -> Posted:
    """Post one movement of the lot that is meant.

    Parts that come to the shelf may make a new lot. Parts that leave come from a lot that is there.

    Parameters
    ----------
    address
        The address of the ledger.
    move
        The movement, with the part as far as it is stated.
    author
        Who asks and why.

    Raises
    ------
    InputError
        Where it is not clear which lot is meant, or the lot has too few parts.
    DoubtfulNameError
        Where the name of its family or size is nearly one that the shelf knows.
    OtherRequestError
        Where the key was posted before with another movement.
    """
    with open_shelf(address) as shelf:
        balances = shelf.balances()
        move = replace(move, wanted=_called(shelf, move, balances))
        before = _before(shelf, author.key)
        if before:
            return _again(shelf, move, before)
        posted = _moved(shelf, move, author, balances)
        if move.unit:
            remember(shelf, *move.unit, author.who)
        return posted


def _called(shelf: Shelf, move: Move, balances: tuple[Balance, ...]) -> PartialName:
    """Return the part that somebody asks for by the shelf's own names."""
    wanted = move.wanted
    if wanted.lot_id:
        return wanted
    names, advice = Names(shelf, balances), AS_NEW * (move.kind in COMING)
    family, size = names.called(wanted.family, wanted.size, doubt=not move.new, advice=advice)
    return replace(wanted, family=family, size=size)


def _moved(shelf: Shelf, move: Move, author: Author, balances: tuple[Balance, ...]) -> Posted:
    if move.found:
        return _found(shelf, move, author)
    try:
        if move.kind in COMING:
            part, new = _brought(shelf, move, balances)
            movement = Movement(move.kind, part, move.number, move.job)
            posted = _post(shelf, author, [movement], new=new)
            return replace(posted, near=_near(part, balances)) if new else posted
        return _post(shelf, author, _leaving(move, _left(shelf, move, balances)))
    except ShortShelfError as short:
        if move.kind not in FOUND:
            raise
        way_out = Problem(IN_HAND.format(move.kind), shelf.name)
        raise InputError(*short.problems, way_out) from None


def settled(address: str, kind: Kind, job: str, author: Author) -> Posted:
    """Issue or release every part that is reserved for a job.

    Parameters
    ----------
    address
        The address of the ledger.
    kind
        `issue` or `release`.
    job
        The job's name.
    author
        Who asks and why.

    Raises
    ------
    InputError
        Where nothing is reserved for the job.
    OtherRequestError
        Where the key was posted before with other movements.
    """
    with open_shelf(address) as shelf:
        before = _before(shelf, author.key)
        if before:
            if {(entry.movement.kind, entry.movement.job) for entry in before} != {(kind, job)}:
                raise other_request(shelf, author.key)
            return Posted(shelf.name, before, again=True)
        movements = [
            Movement(kind, balance.part, number, job, reserved=kind == "issue")
            for balance in shelf.balances()
            for holder, number in balance.holders
            if holder == job
        ]
        if not movements:
            raise InputError(Problem(f'nothing is reserved for "{job}"', shelf.name))
        return _post(shelf, author, movements)


def moved_together(address: str, moves: Sequence[Move], author: Author) -> Posted:
    """Post movements of several lots, each named by its code: all of them or none.

    Parameters
    ----------
    address
        The address of the ledger.
    moves
        The movements.
    author
        Who asks and why.

    Raises
    ------
    InputError
        Where a code names no lot, or a lot has too few parts.
    OtherRequestError
        Where the key was posted before with other movements.
    """
    with open_shelf(address) as shelf:
        before = _before(shelf, author.key)
        if before:
            if _posted_sums(before) != _asked_sums(moves):
                raise other_request(shelf, author.key)
            return Posted(shelf.name, before, again=True)
        balances = shelf.balances()
        movements: list[Movement] = []
        for move in moves:
            lot = the_lot(shelf.name, move.wanted, balances)
            if move.kind in BRINGING:
                movements.append(Movement(move.kind, lot.part, move.number))
            else:
                movements += _leaving(move, lot)
        return _post(shelf, author, movements)


def posted_under(address: str, key: str) -> Posted | None:
    """Return the entries posted under a key; None where there are none."""
    with open_shelf(address) as shelf:
        entries = _before(shelf, key)
        return Posted(shelf.name, entries) if entries else None


def there_is(address: str) -> tuple[str, Link | None, tuple[Balance, ...]]:
    """Return a shelf's name, its last link, and every lot with parts on hand, in order."""
    with open_shelf(address) as shelf:
        _, link = shelf.end()
        balances = (one for one in shelf.balances() if one.on_hand)
        return shelf.name, link, tuple(sorted(balances, key=in_order))


def in_order(balance: Balance) -> tuple[str, str, str, str, str]:
    """Return the sort key of a lot: family, size, bin, label, then code."""
    part = balance.part
    return part.family, part.size, part.bin, part.label, balance.lot_id


def _post(shelf: Shelf, author: Author, movements: list[Movement], *, new: bool = False) -> Posted:
    request = Request(author.key or uuid4().hex, author.who, author.why, tuple(movements))
    receipt = shelf.post(request, seen=author.seen)
    entries = shelf.history(key=request.key, after=receipt.first - 1)
    return Posted(shelf.name, entries, receipt.again, new)


def _before(shelf: Shelf, key: str) -> tuple[Entry, ...]:
    return shelf.history(key=key) if key else ()


def _again(shelf: Shelf, move: Move, before: tuple[Entry, ...]) -> Posted:
    # What came back and nobody can explain was counted.
    kinds = (move.kind, "count") if move.found and move.kind == "return" else (move.kind,)
    entries = [entry for entry in before if entry.movement.kind in kinds]
    movements = [entry.movement for entry in entries]
    numbers = (abs(entry.change) if move.found else entry.movement.number for entry in entries)
    same = (
        sum(numbers) == move.number
        and all(move.wanted.is_lot(movement.part) for movement in movements)
        and {movement.job for movement in movements} == {move.job}
    )
    if not same:
        raise other_request(shelf, before[0].key)
    return Posted(shelf.name, before, again=True)


def _asked_sums(moves: Sequence[Move]) -> Sums:
    """Count the parts asked for by kind, lot and job; incoming parts are for no job."""
    return _sums(
        ((move.kind, move.wanted.lot_id, "" if move.kind in BRINGING else move.job), move.number)
        for move in moves
    )


def _posted_sums(entries: Sequence[Entry]) -> Sums:
    """Count the parts posted by kind, lot and job; a lot may have given reserved and free ones."""
    moves = (entry.movement for entry in entries)
    return _sums(((move.kind, move.part.lot_id, move.job), move.number) for move in moves)


def _sums(numbers: Iterable[tuple[tuple[str, str, str], int]]) -> Sums:
    sums: Sums = {}
    for what, number in numbers:
        sums[what] = sums.get(what, 0) + number
    return sums


def other_request(shelf: Shelf, key: str) -> OtherRequestError:
    """Return the refusal of a key that was posted before with other movements."""
    sentence = f'"{key}" was posted with other movements; give this request a key of its own'
    return OtherRequestError(shelf.name, sentence)


def _brought(shelf: Shelf, move: Move, balances: tuple[Balance, ...]) -> tuple[Part, bool]:
    """Return the lot that incoming parts join, and whether it is new.

    A new lot is as sold and unused unless stated otherwise.
    """
    wanted = move.wanted
    if wanted.lot_id:
        return the_lot(shelf.name, wanted, balances).part, False
    part = wanted.new_lot
    same = [one for one in balances if (one.part.family, one.part.size) == (part.family, part.size)]
    kin = [
        one for one in same
        if (one.part.thickness, one.part.condition) == (part.thickness, part.condition)
        and wanted.is_lot(one.part)
    ]  # fmt: skip
    there = [one for one in kin if one.on_hand] or kin
    if move.apart or not there:
        if move.kind == "count" and not move.apart and any(one.on_hand for one in same):
            sentence = (
                f"no lot of {wanted} is as said, and there are others; {WHICH}, or --apart for a "
                "lot of its own"
            )
            raise InputError(Problem(sentence, shelf.name))
        return part, all(one.part != part for one in same)
    return the_lot(shelf.name, wanted, there).part, False


def _left(shelf: Shelf, move: Move, balances: tuple[Balance, ...]) -> Balance:
    """Return the lot that parts leave; where none has any to give, the ledger refuses it."""
    lots = [one for one in balances if move.wanted.is_lot(one.part)]
    lots = [one for one in lots if one.on_hand] or lots
    lots = [one for one in lots if _may_leave(one, move)] or lots
    return the_lot(shelf.name, move.wanted, lots or [one for one in balances if one.on_hand])


def _may_leave(balance: Balance, move: Move) -> bool:
    held = dict(balance.holders).get(move.job, 0)
    return held > 0 if move.kind == "release" else balance.free + held * (move.kind == "issue") > 0


def _leaving(move: Move, lot: Balance) -> list[Movement]:
    """Return the movements of leaving parts; those reserved for the job go first.

    Where the lot has too few, the ledger refuses them.
    """
    held = dict(lot.holders).get(move.job, 0) if move.kind == "issue" else 0
    reserved = min(held, move.number)
    leaving = [Movement("issue", lot.part, reserved, move.job, reserved=True)] if reserved else []
    if move.number > reserved:
        leaving.append(Movement(move.kind, lot.part, move.number - reserved, move.job))
    return leaving


def _near(part: Part, balances: tuple[Balance, ...]) -> str:
    families = {balance.part.family for balance in balances}
    return "" if part.family in families else nearest(part.family, sorted(families))


def _denied(shelf: Shelf, wanted: PartialName) -> tuple[Balance, bool]:
    """Return the lot of a part in somebody's hand, and whether it is new.

    The books may have none of it on hand.
    """
    lots = [one for one in shelf.balances() if wanted.is_lot(one.part)]
    lots = [one for one in lots if one.on_hand] or lots
    if lots or wanted.lot_id:
        return the_lot(shelf.name, wanted, lots), False
    return Balance(wanted.new_lot, wanted.new_lot.lot_id, 0, 0), True


def _found(shelf: Shelf, move: Move, author: Author) -> Posted:
    """Count the parts in somebody's hand that the books lack, and post what they explain."""
    ways = {"issue": _found_to_issue, "return": _found_to_return}
    for _ in range(MOST_TRIES):
        seen = shelf.revision()
        movements, new = ways[move.kind](shelf, move)
        try:
            return _post(
                shelf, Author(author.who, author.why, author.key, seen), movements, new=new
            )
        except (ChangedShelfError, ShortShelfError):
            continue  # somebody moved it meanwhile: the count is of the books as they are now
    raise ChangedShelfError(shelf.name, f"{move.wanted} moves all the time; try again")


def _found_to_issue(shelf: Shelf, move: Move) -> tuple[list[Movement], bool]:
    lot, new = _denied(shelf, move.wanted)
    movements = _leaving(move, lot)
    lacking = sum(one.number for one in movements if not one.reserved) - lot.free
    if lacking > 0:
        movements.insert(0, Movement("count", lot.part, lot.on_hand + lacking))
    return movements, new


def _found_to_return(shelf: Shelf, move: Move) -> tuple[list[Movement], bool]:
    balances = shelf.balances()
    part, new = _brought(shelf, move, balances)
    out = shelf.out(move.job).get((part.family, part.size), Out())
    explained = min(move.number, out.number)
    more = move.number - explained
    there = sum(one.on_hand for one in balances if one.part == part)
    count = Movement("count", part, there + more, move.job)
    back = Movement("return", part, explained, move.job)
    return [count] * bool(more) + [back] * bool(explained or not more), new
