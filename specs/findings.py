"""What a check yields, and how paths and suggestions are worded everywhere."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from specs.errors import MOST_QUOTED, listed, quoted, shortened
from specs.values.repeated_places import step_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from specs.values.lengths import Length


Path = tuple[str | int, ...]
MOST_COMPARED = 200
LEAST_LETTERS, LIKE = 4, Fraction(3, 4)
"""Of two words of which one may be a slip of the other: how long, and how much of them alike."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to mend at a path of a section; or, with a length, something to weigh first."""

    path: Path
    sentence: str = ""
    length: Length | None = None
    kind: str = ""
    written: str = ""
    leans: tuple[str, ...] = ()
    """Keys it was judged by: where one could not be read, it is a mere echo."""
    figures: tuple[Length, ...] = ()
    """Lengths for the sentence to name in the file's own unit, in the place of each `{}`."""


def weigh(path: Path, length: Length, kind: str, written: str = "") -> Finding:
    """Ask that a length be in proportion to its kind; as the file has it unless `written`."""
    return Finding(path, length=length, kind=kind, written=written)


def _stands_in(node: Any, key: str | int) -> bool:
    """Whether a step of a path leads on from a node of a file."""
    if isinstance(node, dict):
        return key in node
    return isinstance(node, list) and isinstance(key, int) and key < len(node)


def along(path: Path, data: Any) -> Iterator[tuple[str | int, Any, bool]]:
    """Go along a path through a file: each step, the node it starts at, whether it leads on.

    A place of a stack is found where it is written, though validation counts repeated places.
    """
    node = data
    for before, key in zip(("", *path), path, strict=False):
        in_stack = before == "stack" and isinstance(node, list) and isinstance(key, int)
        for step in step_of(node, int(key)) if in_stack else (key,):
            leads_on = _stands_in(node, step)
            yield step, node, leads_on
            node = node[step] if leads_on else node


def dotted(path: Path) -> str:
    """Write a path into a file as people read it, counting from 1: unit.packs.low drum.stack.3."""
    return ".".join(str(part + 1) if isinstance(part, int) else shortened(part) for part in path)


def near(found: str, allowed: Sequence[str], what: str) -> str:
    """Say what is allowed instead of `found`: the nearest, or all."""
    close = nearest(found, allowed)
    if close:
        return f'{quoted(found)}; did you mean "{shortened(close)}"?'
    return f"{quoted(found)}; {what}: {listed(allowed)}"


def nearest(found: str, allowed: Sequence[str]) -> str:
    """The name a misspelt one most likely is; empty where none comes near."""
    word = found[:MOST_QUOTED]

    def likeness(name: str) -> tuple[Any, int, int]:
        same = difflib.SequenceMatcher(None, name, word).ratio()
        pairs = enumerate(zip(name, word, strict=False))
        start = next((at for at, (one, two) in pairs if one != two), len(word))
        return same, start, -allowed.index(name)

    close = difflib.get_close_matches(word, allowed[:MOST_COMPARED], n=9)
    return max(close, key=likeness, default="")


def misspelt(found: str, known: Sequence[str]) -> tuple[str, ...]:
    """The names that a new one may be a slip of, the nearest first.

    Names are held together word by word. Other digits and another single letter make another name,
    as in `ring 1` and `ring 2`, `A ring` and `B ring`.
    """
    close = [name for name in known if name != found and _is_slip(_words(found), _words(name))]
    return tuple(sorted(close, key=lambda name: -_alike(plain(name), plain(found))))


def _is_slip(found: list[str], meant: list[str]) -> bool:
    if "".join(found) == "".join(meant):
        return found == meant or "".join(found).isalpha()
    return len(found) == len(meant) and all(map(_is_like, found, meant))


def _is_like(found: str, meant: str) -> bool:
    if found == meant or not (found + meant).isalpha():
        return found == meant
    long_enough = max(len(found), len(meant)) >= LEAST_LETTERS
    return long_enough and _alike(meant, found) >= LIKE


def _alike(one: str, other: str) -> Fraction:
    """The share of the letters of two words that they have in common, in the same order."""
    row = [0] * (len(other) + 1)  # the most in common of what was seen of one with each beginning
    for letter in one:
        before = 0
        for at, like in enumerate(other, 1):
            before, row[at] = row[at], before + 1 if letter == like else max(row[at], row[at - 1])
    return Fraction(2 * row[-1], max(1, len(one) + len(other)))


def _words(text: str) -> list[str]:
    return re.findall(r"[^\s_-]+", text.casefold())


def plain(text: str) -> str:
    """A text as it is compared: capitals, and how many blanks part its words, do not count."""
    return " ".join(text.casefold().split())
