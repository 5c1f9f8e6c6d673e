"""What a check yields, and how paths and suggestions are worded everywhere."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.lengths import Length

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to mend at a path of a section; or, with a length, something to weigh."""

    path: Path
    sentence: str = ""
    length: Length | None = None
    kind: str = ""


def weigh(path: Path, length: Length, kind: str) -> Finding:
    """Ask that a length be in proportion to its kind."""
    return Finding(path, length=length, kind=kind)


def stands_in(node: Any, key: str | int) -> bool:
    """Whether a step of a path leads on from a node of a file."""
    if isinstance(node, dict):
        return key in node
    return isinstance(node, list) and isinstance(key, int) and key < len(node)


def dotted(path: Path) -> str:
    """Write a path into a file as people read it, counting from 1: unit.packs.low drum.stack.3."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def near(found: str, allowed: Sequence[str], what: str) -> str:
    """Say what is allowed instead of `found`: the nearest, or all."""
    close = difflib.get_close_matches(found, allowed, n=1)
    if close:
        return f'found "{found}"; did you mean "{close[0]}"?'
    return f'found "{found}"; {what}: {", ".join(allowed) or "none"}'
