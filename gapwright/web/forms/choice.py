"""A field with a few values to choose from, and what a job's text holds already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gapwright.web.forms.fields import name_of

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True, slots=True)
class Choice:
    """A field with a few values to choose from."""

    field: str
    label: str
    values: tuple[tuple[str, str], ...]
    """What is sent and what is read of each."""
    value: str = ""


def choice_of(
    path: tuple[str, ...], label: str, first: list[tuple[str, str]], names: Iterable[str], held: str
) -> Choice:
    """A choice among names, and what a file has in their place where it is none of them."""
    values = [*first, *((name, name) for name in names)]
    also = [(held, held)] if held and held not in dict(values) else []
    return Choice(name_of(path), label, (*values, *also), held)


def held_at(job: dict[str, Any], path: tuple[str, ...]) -> Any:  # noqa: ANN401 - as written
    """What stands at a path of a job, as written; an empty text where nothing does."""
    node: Any = job
    for step in path:
        node = node.get(step, "") if isinstance(node, dict) else ""
    return node


def text_of(value: object) -> str:
    """A text as written; empty for anything else."""
    return value if isinstance(value, str) else ""
