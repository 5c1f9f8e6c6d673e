"""The shape of what a check yields: a path into a section and a sentence, or a length to weigh."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from specs.lengths import Length

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to mend at a path; or, with a length, something that must be in proportion."""

    path: Path
    sentence: str = ""
    length: Length | None = None
    kind: str = ""
    written: str = ""


def weigh(path: Path, length: Length, kind: str) -> Finding:
    """Ask that a length be in proportion to its kind."""
    return Finding(path, length=length, kind=kind)
