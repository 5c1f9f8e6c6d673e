"""Writes plain maps, lists, texts and whole numbers as YAML that a person likes to read.

Block style, in lines of at most 100 columns as far as single words permit; what holds no mapping
stands in one line where it fits. A text is plain where that is safe, for every scalar is read back
as text.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

WIDTH, STEP = 100, 2
_WORD = r"[\w./+%()'\"=°×–-]+"
_PLAIN = re.compile(rf"-?[\w.](?:{_WORD})?(?: {_WORD})*")
_NULL = {"null", "Null", "NULL"}


def written(data: Mapping[str, Any]) -> str:
    """Write a file's content so that it is read back the same."""
    return "\n".join(_block(data, 0, STEP) if data else ["{}"]) + "\n"


def scalar(value: str | int) -> str:
    """Write a text or a whole number, in quotes only where it must be."""
    text = str(value)
    plain = _PLAIN.fullmatch(text) and text not in _NULL
    return text if plain else json.dumps(text, ensure_ascii=False)


def flow(value: Any) -> str:
    """Write a value in one line."""
    if isinstance(value, dict):
        return f"{{{', '.join(f'{scalar(key)}: {flow(item)}' for key, item in value.items())}}}"
    if isinstance(value, list):
        return f"[{', '.join(map(flow, value))}]"
    return scalar(value)


def _is_flat(value: Any) -> bool:
    """Say whether a value reads well in one line: a text, or a collection without mappings."""
    items = value.values() if isinstance(value, dict) else value
    return isinstance(value, str | int) or not any(map(_holds_mapping, items))


def _holds_mapping(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and any(map(_holds_mapping, value)))


def entry(head: str, value: Any, column: int, step: int) -> list[str]:
    """Write a value after a head such as `  name:`, in block style from a column on."""
    one = f"{head} {flow(value)}"
    if not value or (_is_flat(value) and len(one) <= WIDTH):
        return [one]
    if isinstance(value, str):
        return _folded(head, value, column)
    return [head, *_block(value, column, step)]


def _block(value: Any, column: int, step: int) -> Iterator[str]:
    blank = " " * column
    if isinstance(value, dict):
        for name, item in value.items():
            yield from entry(f"{blank}{scalar(name)}:", item, column + step, step)
        return
    for item in value:
        first, *rest = entry(f"{blank}-", item, column + 2, step)
        if first == f"{blank}-":
            yield f"{first} {rest[0].lstrip(' ')}"
            yield from rest[1:]
        else:
            yield from (first, *rest)


def spread(head: str, value: Any, column: int, after: str = ",") -> list[str]:
    """Write a value after a head in flow style over several lines, the last followed by a text."""
    one = f"{head} {flow(value)}"
    if len(one + after) <= WIDTH or not value:
        return [one]
    if isinstance(value, str):
        return _folded(head, value, column + STEP)
    opening, closing = "{}" if isinstance(value, dict) else "[]"
    heads = map("{}:".format, map(scalar, value)) if isinstance(value, dict) else [""] * len(value)
    lines = [f"{head} {opening}"]
    for start, item in zip(
        heads, value.values() if isinstance(value, dict) else value, strict=True
    ):
        indent = " " * (column + STEP if start else column + STEP - 1)
        *above, last = spread(indent + start, item, column + STEP)
        lines += [*above, f"{last},"]
    return [*lines[:-1], lines[-1][:-1], " " * column + closing]


def _folded(head: str, text: str, column: int) -> list[str]:
    """Write a text in quotes, broken at single blanks, which YAML reads as blanks again."""
    words = re.split(r"(?<=\S) (?=\S)", json.dumps(text, ensure_ascii=False))
    lines = [f"{head} {words[0]}"]
    for word in words[1:]:
        if len(lines[-1]) + 1 + len(word) < WIDTH:
            lines[-1] += f" {word}"
        else:
            lines.append(" " * column + word)
    return lines
