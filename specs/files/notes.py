"""The record of a job as the text of a ledger's note, and back.

A note is written as canonical JSON; it is read and refused as the same section of a job file is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from specs.errors import InputError, Problem, quoted, refusal
from specs.files.parse import parse_file
from specs.formats.json import parse_json
from specs.formats.yaml import Source
from specs.models.record import plain
from specs.values.codes import canonical

if TYPE_CHECKING:
    from specs.models.job import Job
    from specs.models.record import Closed, Promised
    from specs.values.lengths import LengthUnit


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
