"""The record of a job as the text of a ledger's note, and back.

A note is written as canonical JSON; it is read and refused as the same section of a job file is.
"""

from __future__ import annotations

from dataclasses import dataclass
from json import loads
from typing import TYPE_CHECKING, Any

from specs.errors import InputError, Problem, quoted, refusal
from specs.files.parse import parse_file
from specs.formats.json import parse_json
from specs.formats.yaml import Source
from specs.models.record import listed, plain
from specs.values.codes import canonical
from specs.values.lengths import parse_exact

if TYPE_CHECKING:
    from specs.models.job import Job
    from specs.models.record import Closed, Promised
    from specs.values.lengths import Length, LengthUnit


PROMISE, CLOSED = "promise", "closed"
"""The kinds of the notes that hold a record; such a note is about a job, by its name."""


def note_text(record: Promised | Closed, unit: LengthUnit) -> str:
    """Write a record as the text of a note, its lengths in `unit`."""
    return canonical(plain(record, unit))


def promised_in(text: str, file: str) -> Promised:
    """Read a promise from the text of a note.

    Parameters
    ----------
    text
        The note's text.
    file
        The name of its ledger, for messages.

    Raises
    ------
    InputError
        Where it is no promise, or no longer has its own code.
    """
    promised = _job(text, "promised", file).promised
    if promised is None:
        raise InputError(Problem("a note holds no promise", file))
    if promised.edited:
        sentence = "a promise that was changed outside gapwright; try `gapwright shelf verify`"
        raise InputError(Problem(f"{quoted(promised.answer)}, {sentence}", file))
    return promised


@dataclass(frozen=True, slots=True)
class PromisedRoom:
    """What a promise tells of one gap to others: its room, and what was to be built in it."""

    layout: str
    space: Length
    parts: tuple[tuple[str, ...], ...]


def promised_rooms(text: str, file: str) -> tuple[str, dict[str, PromisedRoom]]:
    """Read the unit of a promise and the room of each of its gaps from the text of a note.

    Nothing else of it is read or checked, so that thousands of notes are read in a moment.

    Parameters
    ----------
    text
        The note's text.
    file
        The name of its ledger, for messages.

    Raises
    ------
    InputError
        Where it is no promise.
    """
    try:
        held = loads(text)
        return held["unit"], {
            name: PromisedRoom(gap["layout"], parse_exact(gap["space"]), listed(gap["parts"]))
            for name, gap in held["gaps"].items()
        }
    except (ValueError, KeyError, TypeError, AttributeError):
        raise InputError(Problem("a note holds no promise", file)) from None


def closed_in(text: str, file: str) -> Closed:
    """Read a closing from the text of a note; parameters and errors are those of `promised_in`."""
    closed = _job(text, "closed", file).closed
    if closed is None:
        raise InputError(Problem("a note holds no closing", file))
    return closed


def _job(text: str, key: str, file: str) -> Job:
    """Return a job of which nothing but one section is written."""
    data: dict[str, Any] = parse_json(text.encode(), file).data
    parsed = parse_file(Source(file, {"job": {key: data}}, {(): 0}))
    if parsed.problems or parsed.file.job is None:
        raise refusal(parsed.problems, file)
    return parsed.file.job
