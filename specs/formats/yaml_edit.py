"""Changes values in the text of a YAML file and keeps every other character of it.

The place is found by the marks of the parsed nodes. What is written anew (`yaml_text.py`) is block
style, indented as its section is, or flow style where the section stands in braces. The new text
is parsed again: it must hold what the old one held with these changes, or it is refused.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

import yaml

from specs.errors import InputError, Problem
from specs.findings import dotted
from specs.formats.yaml import parse
from specs.formats.yaml_text import STEP, WIDTH, entry, flow, scalar, spread

if TYPE_CHECKING:
    from collections.abc import Mapping

    from specs.formats.yaml import Source

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_BETWEEN = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
"""What may stand between the tokens of a mapping in braces."""

_Path = tuple[str | int, ...]
_Edit = tuple[int, int, str]
"""Where the replaced text begins and ends, and what comes in its place."""


def with_value(text: str, path: tuple[str, ...], value: Any, file: str) -> str:
    """Set, replace or remove one value of a file's text; see `with_values`."""
    return with_values(text, {path: value}, file)


def with_values(text: str, changes: Mapping[_Path, Any], file: str) -> str:
    """Set, replace or remove some values of a file's text.

    Comments, order, quotes, line ends and a mark of byte order stay as they are. Comments within a
    value that is replaced or removed go with it. New lines are at most 100 columns wide, as far as
    single words permit.

    Parameters
    ----------
    text
        The file's text, with its own line ends.
    changes
        By path, the keys and numbers of items that lead to it, each value: mappings, lists, texts
        and whole numbers, or None to take the key away. A last key that is absent is added at the
        end of its section. No path is within another.
    file
        The file's name, for messages.

    Returns
    -------
    str
        The new text; the same where it holds the values already.

    Raises
    ------
    InputError
        Where the text is no file of ours, a section of a path is missing, or all else cannot be
        kept; the sentence says what to write by hand.
    """
    source = parse(text, file)
    changes = {path: _as_read(value) for path, value in changes.items()}
    wanted: Any = source.data
    differing = {}
    for path, value in changes.items():
        new = _changed(wanted, path, value, Problem("", file, source.line(path), dotted(path)))
        if new != wanted:
            wanted, differing[path] = new, value
    if not differing:
        return text
    plain = re.sub("\r\n?", "\n", text.removeprefix("\ufeff"))
    root = yaml.compose(plain, Loader=_LOADER)
    try:
        new = _put(text, [_edit(plain, root, *change) for change in differing.items()])
        if parse(new, file).data == wanted:
            return new
    except InputError:
        pass
    raise InputError(*(_by_hand(source, *change) for change in differing.items()))


def _by_hand(source: Source, path: _Path, value: Any) -> Problem:
    by_hand = "take it out" if value is None else f"write {path[-1]}: {flow(value)}"
    sentence = f"cannot be changed with all else kept as it is; by hand {by_hand}"
    return Problem(sentence, source.file, source.line(path), dotted(path))


def _as_read(value: Any) -> Any:
    """Return a value as it is read again: every scalar is a text."""
    if isinstance(value, dict):
        return {name: _as_read(item) for name, item in value.items()}
    if isinstance(value, list):
        return [_as_read(item) for item in value]
    return str(value) if isinstance(value, int) else value


def _changed(data: Any, path: _Path, value: Any, at: Problem) -> Any:
    """Return a file's content with a change; raise InputError where it has no place."""
    name, *rest = path
    if isinstance(data, list) and isinstance(name, int) and name < len(data):
        new = _changed(data[name], tuple(rest), value, at) if rest else value
        return [*data[:name], new, *data[name + 1 :]]
    if not isinstance(data, dict) or (rest and name not in data):
        raise InputError(replace(at, sentence="there is no section to write this in: add it"))
    if rest:
        return {**data, name: _changed(data[name], tuple(rest), value, at)}
    left = {key: data[key] for key in data if key != name}
    return left if value is None else {**left, name: value}


def _put(text: str, edits: list[_Edit]) -> str:
    """Make edits, given for plain line ends, in a text with line ends of its own."""
    mark = len(text) - len(text.removeprefix("\ufeff"))
    doubled = [at.start() - nth for nth, at in enumerate(re.finditer("\r\n", text[mark:]))]
    own = re.search("\r\n?|\n", text)
    for start, end, new in sorted(edits, reverse=True):
        first, last = (mark + at + bisect_right(doubled, at - 1) for at in (start, end))
        text = text[:first] + new.replace("\n", own[0] if own else "\n") + text[last:]
    return text


def _edit(text: str, root: Any, path: _Path, value: Any) -> _Edit:
    outer: Any = None
    section: Any = root
    for name in path[:-1]:
        outer, section = section, _item(section, _position(section, name))
    at = _position(section, path[-1])
    if isinstance(section, yaml.SequenceNode):
        old = section.value[at]
        return old.start_mark.index, _end(text, old), flow(value)
    place = _InBraces(text, section) if section.flow_style else _InLines(text, section, outer)
    if at < 0:
        return place.added(str(path[-1]), value)
    return place.removed(at) if value is None else place.replaced(at, value)


def _position(section: yaml.CollectionNode, name: str | int) -> int:
    if isinstance(name, int):
        return name
    names = [key.value.strip() for key, _ in section.value]
    return names.index(name) if name in names else -1


def _item(section: yaml.CollectionNode, at: int) -> yaml.Node:
    item: Any = section.value[at]
    node: yaml.Node = item[1] if isinstance(item, tuple) else item
    return node


def _end(text: str, node: yaml.Node) -> int:
    """Return where a node's last character stands; comments after it do not count."""
    start, end = node.start_mark.index, node.end_mark.index
    if isinstance(node, yaml.ScalarNode):
        return start + len(text[start:end].rstrip()) if node.style in {"|", ">"} else end
    if _is_inline(node):
        return end
    return _end(text, _item(cast("yaml.CollectionNode", node), -1))


def _is_inline(node: yaml.Node) -> bool:
    return not isinstance(node, yaml.CollectionNode) or bool(node.flow_style)


class _Place:
    """A section of a text."""

    def __init__(self, text: str, section: yaml.MappingNode) -> None:
        self.text, self.section = text, section

    def line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def line_end(self, at: int) -> int:
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end


class _InLines(_Place):
    """A section in block style."""

    def __init__(
        self, text: str, section: yaml.MappingNode, outer: yaml.CollectionNode | None
    ) -> None:
        super().__init__(text, section)
        self.column = section.start_mark.column
        above = outer.start_mark.column if outer else 0
        self.step = max(0, self.column - above) or STEP

    def added(self, name: str, value: Any) -> _Edit:
        at = self.line_end(_end(self.text, self.section))
        deeper = re.compile(rf"\n {{{self.column + 1},}}#[^\n]*")
        while comment := deeper.match(self.text, at):
            at = comment.end()
        head = f"{' ' * self.column}{scalar(name)}:"
        return at, at, "\n" + "\n".join(entry(head, value, self.column + self.step, self.step))

    def removed(self, at: int) -> _Edit:
        key, old = self.section.value[at]
        start, end = self.line_start(key.start_mark.index), self.line_end(_end(self.text, old))
        if len(self.section.value) == 1:
            return key.start_mark.index, end, "{}"
        if end == len(self.text):
            return max(0, start - 1), end, ""
        return start, end + 1, ""

    def replaced(self, at: int, value: Any) -> _Edit:
        key, old = self.section.value[at]
        colon = self.text.index(":", key.end_mark.index) + 1
        start, end = old.start_mark.index, _end(self.text, old)
        line, line_end = self.line_start(start), self.line_end(end)
        end = end if _is_inline(old) else line_end
        below = old.start_mark.line > key.end_mark.line
        least = self.column + (not isinstance(value, list))  # a list may stand under its name
        column = max(old.start_mark.column, least) if below else self.column + self.step
        head = self.text[self.line_start(colon) : colon]
        first, *rest = entry(head, value, column, self.step)
        inline = first.removeprefix(head)
        if inline:
            between = self.text[colon : line - 1] if below else ""
            return colon, end, "\n".join([inline, *rest]) + between
        if below:
            return line, end, "\n".join(rest)
        return colon, line_end, "\n".join([self.text[end:line_end], *rest])


class _InBraces(_Place):
    """A section in flow style."""

    def indent(self, at: int) -> int:
        """Return the column for further lines of what is written in the line of a character."""
        line = self.text[self.line_start(at) :]
        return len(line) - len(line.lstrip(" ")) + STEP

    def added(self, name: str, value: Any) -> _Edit:
        if not self.section.value:
            at, comma = self.section.start_mark.index + 1, ""
        else:
            at, comma = _end(self.text, self.section.value[-1][1]), ","
        before = self.text[self.line_start(at) : at] + comma
        after, column = self.text[at : self.line_end(at)], self.indent(at)
        one = f"{' ' if comma else ''}{scalar(name)}: {flow(value)}"
        if len(before + one + after) <= WIDTH:
            return at, at, comma + one
        lines = spread(f"{' ' * column}{scalar(name)}:", value, column, after)
        return at, at, comma + "\n" + "\n".join(lines)

    def removed(self, at: int) -> _Edit:
        key, old = self.section.value[at]
        start, end = key.start_mark.index, _end(self.text, old)
        comma = _after(self.text, end)
        if self.text[comma] == ",":
            end = comma + 1
            end += len(self.text[end:]) - len(self.text[end:].lstrip(" "))
        elif at:
            before = _end(self.text, self.section.value[at - 1][1])
            between = self.text[before:start]
            start = before if not between.replace(",", "", 1).strip() else start
        return start, end, ""

    def replaced(self, at: int, value: Any) -> _Edit:
        _, old = self.section.value[at]
        start, end = old.start_mark.index, _end(self.text, old)
        before = self.text[self.line_start(start) : start]
        after, column = self.text[end : self.line_end(end)], self.indent(start)
        one = flow(value)
        if len(before + one + after) <= WIDTH or len(one) <= end - start or " " not in one:
            return start, end, one
        start -= len(before) - len(before.rstrip(" "))
        return start, end, "\n" + "\n".join(spread(" " * (column - 1), value, column, after))


def _after(text: str, at: int) -> int:
    between = _BETWEEN.match(text, at)
    return between.end() if between else at
