"""A field with a few values to choose from, and what a job's text holds already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Choice:
    """A field with a few values to choose from."""

    field: str
    label: str
    values: tuple[tuple[str, str], ...]
    """What is sent and what is read of each."""
    value: str = ""


def held_at(job: dict[str, Any], path: tuple[str, ...]) -> Any:  # noqa: ANN401 - as written
    """What stands at a path of a job, as written; an empty text where nothing does."""
    node: Any = job
    for step in path:
        node = node.get(step, "") if isinstance(node, dict) else ""
    return node


def text_of(value: object) -> str:
    """A text as written; empty for anything else."""
    return value if isinstance(value, str) else ""
