"""What moves parts on and off the shelf: the words of the ledger.

A lot is parts nobody could tell apart on the shelf: one family, size, thickness, condition, bin
and label. Its id is worked out of just these, so that a label printed in one shop is good in
another and no two writers can disagree about it.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Literal, get_args

from specs.errors import InputError, Problem, quoted
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from specs.values.lengths import Length

Kind = Literal["receive", "count", "reserve", "release", "issue", "return", "scrap"]
Condition = Literal["new", "used"]

MOST_AT_ONCE = 1_000_000
MOST_CHARACTERS = 200
READABLE = f"write it in one line of at most {MOST_CHARACTERS} readable signs"
_SIGNS = "ABCDEFGHJKMNPQRSTVWXYZ0123456789"  # no I, L, O and U: read wrongly, or into words
_PAIRS = [first + second for first in _SIGNS for second in _SIGNS]
_KINDS = get_args(Kind)


@dataclass(frozen=True, slots=True)
class Part:
    """What makes a lot; `thickness` is as measured, None for parts that are taken as sold."""

    family: str
    size: str
    thickness: Length | None = None
    condition: Condition = "new"
    bin: str = ""
    label: str = ""

    @property
    def lot_id(self) -> str:
        """A short name for good, fit for a label: 60 bits in capitals and digits."""
        nm = "" if self.thickness is None else str(self.thickness.nm)
        said = f"{self.family}\n{self.size}\n{nm}\n{self.condition}\n{self.bin}\n{self.label}"
        code = int.from_bytes(sha256(said.encode()).digest()[:8], "big")
        pairs = _PAIRS  # ten bits each
        return (
            f"{pairs[code >> 50 & 1023]}{pairs[code >> 40 & 1023]}-"
            f"{pairs[code >> 30 & 1023]}{pairs[code >> 20 & 1023]}-"
            f"{pairs[code >> 10 & 1023]}{pairs[code & 1023]}"
        )

    def __str__(self) -> str:
        facts = [self.family, self.size]
        facts += [show(self.thickness, "mm")] if self.thickness else []
        facts += ["used"] * (self.condition == "used")
        facts += [f"in {self.bin}"] if self.bin else []
        return " ".join(facts)


@dataclass(frozen=True, slots=True)
class Movement:
    """One movement of parts of one lot.

    receive, return     so many more are on hand
    count               so many were found, reserved ones included, whatever the books said
    reserve, release    so many of those on hand are spoken for by `job`, or no longer
    issue, scrap        so many leave; `reserved` issues what is reserved for `job`
    """

    kind: Kind
    part: Part
    number: int
    job: str = ""
    reserved: bool = False


@dataclass(frozen=True, slots=True)
class Request:
    """One whole decision, posted together or not at all; the same `key` is posted once."""

    key: str
    who: str
    why: str
    movements: tuple[Movement, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """A movement as the ledger has it, with how its lot stood afterwards."""

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
class Balance:
    """How a lot stands: what is on hand, and how many of them are reserved for which job."""

    part: Part
    lot_id: str
    on_hand: int
    reserved: int
    holders: tuple[tuple[str, int], ...] = ()

    @property
    def free(self) -> int:
        """How many anybody may still take."""
        return self.on_hand - self.reserved


@dataclass(frozen=True, slots=True)
class Receipt:
    """Which entries a request became, the first and the last, and whether it came once more."""

    first: int
    last: int
    again: bool


def check_request(request: Request) -> None:
    """Raise InputError with all that no ledger could take, before anything is written."""
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
    if not request.movements:
        yield "movements", "found none; a request moves something"
    for nth, movement in enumerate(request.movements, 1):
        for sentence in slips_of(movement):
            yield f"movement {nth}", sentence


def slips_of(movement: Movement) -> Iterator[str]:
    """Say all that no ledger could take of a movement."""
    part, number = movement.part, movement.number
    if movement.kind not in _KINDS:
        yield f"{quoted(movement.kind)}; the kinds are {', '.join(_KINDS)}"
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
