"""The movements of parts on and off the shelf, and the values a ledger is made of.

A lot is a number of parts that nobody can tell apart on the shelf: of one family, size, thickness,
condition, bin and label. Its id is worked out from these alone. So a label printed in one shop
is good in another, and two writers never give one lot two ids.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

from specs.errors import InputError, Problem, quoted
from specs.values.codes import code_of
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from specs.values.lengths import Length

Kind = Literal["receive", "count", "reserve", "release", "issue", "return", "scrap"]
KINDS: tuple[Kind, ...] = get_args(Kind)
Condition = Literal["new", "used"]

MOST_AT_ONCE = 1_000_000
MOST_WRITTEN = 1_000_000  # characters of a note
MOST_CHARACTERS = 200
READABLE = f"write it in one line of at most {MOST_CHARACTERS} readable signs"


@dataclass(frozen=True, slots=True)
class Part:
    """The values that make a lot; `thickness` as measured, None for parts taken as sold."""

    family: str
    size: str
    thickness: Length | None = None
    condition: Condition = "new"
    bin: str = ""
    label: str = ""

    @property
    def lot_id(self) -> str:
        """The lot's lasting id for labels: the code of its values."""
        nm = "" if self.thickness is None else str(self.thickness.nm)
        values = (self.family, self.size, nm, self.condition, self.bin, self.label)
        return code_of("\n".join(values))

    def __str__(self) -> str:
        facts = [self.family, self.size]
        facts += [show(self.thickness, "mm")] if self.thickness else []
        facts += ["used"] * (self.condition == "used")
        facts += [f"in {self.bin}"] if self.bin else []
        return " ".join(facts)


@dataclass(frozen=True, slots=True)
class Movement:
    """One movement of `number` parts of one lot.

    receive, return     parts are added to those on hand
    count               somebody found so many on hand, reserved ones included; the books follow
    reserve, release    parts on hand are set apart for `job`, or no longer
    issue, scrap        parts leave; with `reserved` an issue takes those reserved for `job`
    """

    kind: Kind
    part: Part
    number: int
    job: str = ""
    reserved: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """A text that a ledger keeps beside its movements, as it keeps these.

    The last note of a kind about one thing stands; those before it remain to be read. The ledger
    does not read the text.
    """

    kind: str
    """What sort of note it is, in one word: promise, closed, unit, reorder."""
    about: str
    """What it is about: a job's name, a file's name."""
    text: str


@dataclass(frozen=True, slots=True)
class Request:
    """One decision: movements and notes, posted together or not at all, once for each `key`."""

    key: str
    who: str
    why: str
    movements: tuple[Movement, ...]
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """A movement as the ledger holds it, with the state of its lot afterwards."""

    number: int
    """The order of the ledger, 1 the first; clocks may be wrong."""
    time: datetime
    key: str
    who: str
    why: str
    movement: Movement
    change: int
    """How many more are on hand; for a count what the books were short of."""
    on_hand: int
    reserved: int
    link: str
    """The hash of its request and of all requests before."""


@dataclass(frozen=True, slots=True)
class PostedNote:
    """A note as the ledger holds it, with the request that it came with."""

    number: int
    """The order of the notes, 1 the first."""
    time: datetime
    key: str
    who: str
    why: str
    note: Note
    link: str
    """The hash of its request and of all requests before."""


@dataclass(frozen=True, slots=True)
class Balance:
    """The state of a lot: how many are on hand, and how many of them are reserved for which job."""

    part: Part
    lot_id: str
    on_hand: int
    reserved: int
    holders: tuple[tuple[str, int], ...] = ()

    @property
    def free(self) -> int:
        """The number of parts on hand that nobody has reserved."""
        return self.on_hand - self.reserved


@dataclass(frozen=True, slots=True)
class Receipt:
    """A request's first and last entry by number, and whether the request was posted before.

    A request of notes alone has no entries: its `last` is the entry before it, `first` the next.
    """

    first: int
    last: int
    again: bool


def check_request(request: Request) -> None:
    """Check a request before anything is written.

    Raises InputError with all that no ledger accepts.
    """
    problems = [Problem(sentence, field=field) for field, sentence in _slips(request)]
    if problems:
        raise InputError(*problems)


def _slips(request: Request) -> Iterator[tuple[str, str]]:
    for field in ("key", "who"):
        if not getattr(request, field).strip():
            yield field, "found nothing; write who or what it is"
    for field in ("key", "who", "why"):
        if not _readable(getattr(request, field)):
            yield field, f"{quoted(getattr(request, field))}; {READABLE}"
    if not (request.movements or request.notes):
        yield "movements", "found none, and no notes; a request moves or notes something"
    for nth, movement in enumerate(request.movements, 1):
        for sentence in slips_of(movement):
            yield f"movement {nth}", sentence
    for nth, note in enumerate(request.notes, 1):
        for sentence in _slips_of_note(note):
            yield f"note {nth}", sentence


def _slips_of_note(note: Note) -> Iterator[str]:
    """Yield a sentence for each value of a note that no ledger accepts."""
    for text in (note.kind, note.about):
        if not text.strip():
            yield "a note has a kind and says what it is about"
        elif not _readable(text):
            yield f"{quoted(text)}; {READABLE}"
    if len(note.text) > MOST_WRITTEN:
        yield f"{len(note.text)} characters; a note has at most {MOST_WRITTEN}"
    elif not _storable(note.text):
        yield f"{quoted(note.text)}; a note is text without the sign of number 0"


def slips_of(movement: Movement) -> Iterator[str]:
    """Yield a sentence for each value of a movement that no ledger accepts."""
    part, number = movement.part, movement.number
    if movement.kind not in KINDS:
        yield f"{quoted(movement.kind)}; the kinds are {', '.join(KINDS)}"
    if not (movement.kind != "count") <= number <= MOST_AT_ONCE:
        least = 0 if movement.kind == "count" else 1
        yield f"{number} to {movement.kind}; write a whole number from {least} to {MOST_AT_ONCE}"
    if not movement.job and (movement.reserved or movement.kind in {"reserve", "release"}):
        yield f"{movement.kind} {part}: say for which job"
    if movement.reserved and movement.kind != "issue":
        yield f"{movement.kind} {part}: only an issue takes what is reserved"
    if not part.family.strip() or not part.size.strip():
        yield "a part has a family and a size"
    for text in (part.family, part.size, part.bin, part.label, movement.job):
        if not _readable(text):
            yield f"{quoted(text)}; {READABLE}"


def _readable(text: str) -> bool:
    return text.isprintable() and len(text) <= MOST_CHARACTERS


def _storable(text: str) -> bool:
    """Tell whether both databases keep a text: no NUL, and no half of a sign of two."""
    return "\0" not in text and not any("\ud800" <= sign <= "\udfff" for sign in text)
