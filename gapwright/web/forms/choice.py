"""Makes fields with a few values to choose from, and reads a job's present values."""

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
    """For each value, the text that is sent and the text that is shown."""
    value: str = ""


def choice_of(
    path: tuple[str, ...], label: str, first: list[tuple[str, str]], names: Iterable[str], held: str
) -> Choice:
    """Make a choice among names, with the file's present text added where it is none of them.

    Parameters
    ----------
    path
        The path of the field in the job's file.
    label
        The text beside the field.
    first
        Values before the names: the text that is sent and the text that is shown.
    names
        The names to choose from.
    held
        The present text of the file; empty where it has none.
    """
    values = [*first, *((name, name) for name in names)]
    also = [(held, held)] if held and held not in dict(values) else []
    return Choice(name_of(path), label, (*values, *also), held)


def held_at(job: dict[str, Any], path: tuple[str, ...]) -> Any:  # noqa: ANN401 - as written
    """Return the value at a path of a job, as written; empty text where there is none."""
    node: Any = job
    for step in path:
        node = node.get(step, "") if isinstance(node, dict) else ""
    return node


def text_of(value: object) -> str:
    """Return a text as written; empty for anything else."""
    return value if isinstance(value, str) else ""
