"""The YAML reader: turns a file into plain maps, lists and texts, with the line of each.

No other file knows YAML. It accepts the part of YAML that a person writes (maps, lists, text) and
refuses what surprises: anchors, aliases, tags, merge keys, duplicate keys, a second document.
Every scalar stays as written, so that no is no `False`, 0.0710 keeps its zero and 12:30 is no 750.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NoReturn

import yaml
from yaml import events

from specs.errors import InputError, Problem
from specs.findings import dotted
from specs.formats.plain_file import content

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path


_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_MOST_BYTES, _MOST_ITEMS, _MOST_PROBLEMS = 2_000_000, 200_000, 20
# Line breaks only YAML counts (NEL, LS, PS) are unprintable too: no editor's line would be right.
UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]")
"""The characters that no file may hold."""
MOST_DEPTH = 20
TOO_DEEP = f"is nested deeper than {MOST_DEPTH} levels: no file of a shop is"

# The parser's own words, those of either loader, and what a person can do about them.
_WORDINGS = {
    "mapping values": "has one colon too many or is indented by mistake: put the text in quotes",
    "cannot start any token": "starts with a sign that YAML keeps for itself: put it in quotes",
    "or ']'": "opens a [ that is not closed",
    "or '}'": "opens a { that is not closed",
    "unexpected end of stream": "opens a quote that is not closed",
    "maximum nesting depth": TOO_DEEP,
    "<document start>": "goes on after the end of the document: keep one to a file",
}

_Key = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Source:
    """What a file holds, each scalar as its written text."""

    file: str
    """The file's name, for messages."""
    data: dict[str, Any]
    lines: Mapping[_Key, int]
    """The line that each path stands in, from 1."""

    def line(self, path: _Key) -> int:
        """Return the line of the longest known part of a path; unknown items are passed over."""
        known: _Key = ()
        for item in path:
            if (*known, item) in self.lines:
                known = (*known, item)
        return self.lines.get(known, 1)


def read(path: Path) -> Source:
    """Read a file of at most 2 MB; raise InputError with every problem and its line."""
    return parse(content(path, _MOST_BYTES + 1), str(path))


def parse(text: str | bytes, file: str) -> Source:
    """Parse the text of a file.

    Parameters
    ----------
    text
        The file's text or bytes, at most 2 MB of UTF-8.
    file
        Its name, for messages.

    Returns
    -------
    Source
        What it holds, and the line of each path.

    Raises
    ------
    InputError
        With up to 20 problems, each with its line.
    """
    clean = _decoded(text, file)
    reader = _Reader(file, clean)
    try:
        data = reader.document()
    except (
        yaml.YAMLError,
        ValueError,
        OverflowError,
    ) as error:  # Python's loader leaks the last two
        reader.problem(*worded(error, clean))
        data = {}
    if reader.problems:
        raise InputError(*list(dict.fromkeys(reader.problems))[:_MOST_PROBLEMS])
    return Source(file, data, reader.lines)


def _refuse(file: str, sentence: str, line: int = 0) -> NoReturn:
    raise InputError(Problem(sentence, file, line))


def _decoded(text: str | bytes, file: str) -> str:
    try:
        raw = text.encode() if isinstance(text, str) else text
        if len(raw) > _MOST_BYTES:
            _refuse(file, "is larger than 2 MB: check that it is the right file")
        if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
            _refuse(file, "is UTF-16: save it as UTF-8")
        clean = re.sub("\r\n?", "\n", raw.decode("utf-8-sig"))
    except UnicodeEncodeError as error:
        line = error.object.count("\n", 0, error.start) + 1
        _refuse(file, "holds half a character: type it again", line)
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1
        _refuse(file, "holds a character that is not UTF-8: save the file as UTF-8", line)
    if odd := UNPRINTABLE.search(clean):
        line = clean.count("\n", 0, odd.start()) + 1
        _refuse(file, f"holds an invisible character (U+{ord(odd[0]):04X}): delete it", line)
    return clean


class _Reader:
    """One pass over the events of a file, which goes on after a problem that can be mended."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.events = yaml.parse(text, Loader=_LOADER)
        self.items = 0
        self.problems: list[Problem] = []
        self.lines: dict[_Key, int] = {}

    def problem(self, sentence: str, line: int, path: _Key = ()) -> None:
        self.problems.append(Problem(sentence, self.file, line, dotted(path)))

    def stop(self, sentence: str, line: int) -> NoReturn:
        self.problem(sentence, line)
        raise InputError(*self.problems[-_MOST_PROBLEMS:])

    def next(self) -> events.Event:
        self.items += 1
        event: events.Event = next(self.events)
        if self.items > _MOST_ITEMS:
            self.stop(f"has more than {_MOST_ITEMS} items: split the file", _line(event))
        return event

    def until(self, end: type[events.Event]) -> Iterator[events.Event]:
        while not isinstance(event := self.next(), end):
            yield event

    def document(self) -> dict[str, Any]:
        self.next()
        if isinstance(self.next(), events.StreamEndEvent):
            self.stop("is empty: write at least one 'name: value'", 1)
        root = self.next()
        if not isinstance(root, events.MappingStartEvent):
            self.stop("is no map: a file is made of lines like 'name: value'", _line(root))
        self.lines[()] = _line(root)
        self.check(root, ())
        data = self.mapping(())
        self.next()
        if not isinstance(after := self.next(), events.StreamEndEvent):
            self.stop("has a second document after '---': keep one to a file", _line(after))
        return data

    def value(self, event: events.Event, path: _Key) -> object:
        self.lines.setdefault(path, _line(event))
        if len(path) > MOST_DEPTH:
            self.stop(TOO_DEEP, _line(event))
        self.check(event, path)
        match event:
            case events.MappingStartEvent():
                return self.mapping(path)
            case events.SequenceStartEvent():
                return self.sequence(path)
            case events.ScalarEvent():
                if _is_null(event):
                    self.problem(_no_value(path), self.lines[path], path)
                return event.value
        return None

    def mapping(self, path: _Key) -> dict[str, Any]:
        data: dict[str, Any] = {}
        first: dict[str, int] = {}
        for event in self.until(events.MappingEndEvent):
            line, key = _line(event), self.key(event, path)
            if key in first:
                twice = f"{key[:60]!r} is written twice, in line {first[key]} and here: keep one"
                self.problem(twice, line, path)
            first.setdefault(key, line)
            self.lines.setdefault((*path, key), line)
            data[key] = self.value(self.next(), (*path, key))
        return data

    def sequence(self, path: _Key) -> list[object]:
        data: list[object] = []
        before: events.Event | None = None
        for event in self.until(events.SequenceEndEvent):
            if before and _is_cut_number(before, event):
                self.problem(_CUT_NUMBER, _line(event), path)
            data.append(self.value(event, (*path, len(data))))
            before = event
        return data

    def key(self, event: events.Event, path: _Key) -> str:
        if not isinstance(event, events.ScalarEvent):
            self.problem("has a name that is no text: write 'name: value'", _line(event), path)
            self.value(event, (*path, "?"))
            return f"? in line {_line(event)}"
        self.check(event, path)
        if event.value == "<<":
            self.problem("'<<' merges nothing here: write the lines out", _line(event), path)
        if _is_null(event):
            self.problem("has a value without a name: write 'name: value'", _line(event), path)
        return str(event.value).strip()

    def check(self, event: events.Event, path: _Key) -> None:
        """Note what a person's file does not need: anchors, aliases, tags, control characters."""
        match event:
            case events.AliasEvent(anchor=name):
                found = f"has an alias (*{name}): write the value out, or put it in quotes"
            case events.NodeEvent(anchor=str(name)):
                found = f"has an anchor (&{name}): take it out, or put the text in quotes"
            case events.ScalarEvent(tag=str(name)) | events.CollectionStartEvent(tag=str(name)):
                found = f"has a tag ({name}): take it out, or put the text in quotes"
            case events.ScalarEvent(value=text) if UNPRINTABLE.search(text):
                found = "holds an invisible character: delete it"
            case _:
                return
        self.problem(found, _line(event), path)


_CUT_NUMBER = (
    "is cut in two at a comma: put a number with a decimal comma in quotes, "
    "or write a space after the comma between two numbers"
)


def _line(event: events.Event) -> int:
    return event.start_mark.line + 1 if event.start_mark else 0


def _is_null(event: events.ScalarEvent) -> bool:
    return bool(event.implicit[0]) and event.value in {"", "~", "null", "Null", "NULL"}


def _is_cut_number(before: events.Event, after: events.Event) -> bool:
    """Say whether `[1,68]` may have been meant as one number; YAML reads 1 and 68."""
    if not (isinstance(before, events.ScalarEvent) and isinstance(after, events.ScalarEvent)):
        return False
    end, start = before.end_mark, after.start_mark
    touching = end and start and (end.line, end.column + 1) == (start.line, start.column)
    digits = re.fullmatch("[+-]?[0-9]+", before.value) and re.fullmatch(r"[0-9]+\D*", after.value)
    return bool(touching and digits)


def _no_value(path: _Key) -> str:
    if isinstance(path[-1], str) and re.fullmatch("[0-9]+( ?mm)?", path[-1]):
        return "has no value: within {} a number with a decimal comma needs quotes: '1,68 mm'"
    return "has no value: write one or take the line out"


def worded(error: Exception, text: str) -> tuple[str, int]:
    """Translate a syntax error for the person who made it.

    Parameters
    ----------
    error
        The error of the YAML library.
    text
        The text it was found in.

    Returns
    -------
    tuple of (str, int)
        What is wrong in plain words, and the line to look in; 0 where it is not known.
    """
    fault, mark = str(getattr(error, "problem", error)), getattr(error, "problem_mark", None)
    lines = text.rstrip("\n").split("\n")
    line = min(mark.line + 1, len(lines)) if mark else 0  # a mark may stand below the last line
    if line and re.match(" *\t", lines[line - 1]):
        return "is indented with a tab: use spaces", line
    for words, meaning in _WORDINGS.items():
        if words in fault:
            start = getattr(error, "context_mark", None) if "closed" in meaning else mark
            return meaning, start.line + 1 if start else line
    return f"is not written as YAML wants it, here or just above ({fault})", line
