"""Makes the fields of one reading: how to take it, in which state, and what was typed so far."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from gapwright.fit.gap_text import state_words
from gapwright.web.forms.choice import Choice, held_at, text_of
from gapwright.web.forms.fields import PROUD, name_of
from specs.findings import dotted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.unit import Reading

MOST_SHOWN = 12
"""The most fields of one reading, unless more were read."""
BLADES = ("goes", "stops")
"""The keys of a reading that lies between two blades of a feeler gauge."""


@dataclass(frozen=True, slots=True)
class ReadingFields:
    """One reading to take at the bench."""

    gap: str
    """The gap it belongs to; empty where gaps share it."""
    name: str
    field: str
    path: str
    """Its path in the job's file, as problems name it."""
    what: str
    how: tuple[str, ...]
    """The gauge, the number of places, and the state of the unit."""
    values: tuple[str, ...]
    """One for each place; empty where nothing was typed."""
    states: tuple[Choice, ...]
    """Choices of other states it may be taken in."""
    proud_field: str = ""
    """The field for how far a ring stands proud in its place; empty where none can."""
    proud: str = ""

    @property
    def fields(self) -> set[str]:
        """The names of all its fields."""
        proud = {self.proud_field} if self.proud_field else set()
        return {self.field, *(choice.field for choice in self.states)} | proud


def reading_of(
    path: tuple[str, ...], asked: Reading | None, name: str, job: dict[str, Any],
    state: dict[str, str], others: tuple[dict[str, str], ...],
) -> ReadingFields:  # fmt: skip
    """Make the fields of a reading at a path of the job's file.

    Parameters
    ----------
    path
        The path of the reading.
    asked
        The reading as the unit describes it; None for the gap that the trial build shows.
    name
        Its name.
    job
        The job as written.
    state
        The state it is usually taken in.
    others
        Other states it may be taken in.
    """
    held = held_at(job, path[1:])
    at = held.get("at", "") if isinstance(held, dict) else held
    values = [text_of(value) for value in (at if isinstance(at, list) else [at])]
    places = max(min(asked.places, MOST_SHOWN) if asked else 1, len(values))
    how = [f"with {asked.gauge}"] if asked and asked.gauge else []
    how += [f"at {asked.places} places, averaged"] if asked and asked.places > 1 else []
    how += state_words(state)
    blades = [
        f"{key} {text_of(held[key])}" for key in BLADES if isinstance(held, dict) and key in held
    ]
    if blades:  # kept as the file has it: a place beside the blades would contradict them
        how.append(f"read by the feeler that {' and the one that '.join(blades)}")
        values, places = [], 0
    stated = held.get("state", {}) if isinstance(held, dict) else {}
    return ReadingFields(
        gap=path[2] if path[1] == "gaps" else "",
        name=name,
        field=name_of((*path, "at")),
        path=dotted(path),
        what=asked.what if asked else "the gap the trial build shows",
        how=tuple(how),
        values=tuple((values + [""] * places)[:places]),
        states=tuple(_states(path, state, others, stated)),
    )


def with_proud(reading: ReadingFields, path: tuple[str, ...], job: dict[str, Any]) -> ReadingFields:
    """Ask for a trial build's gap also by how far its ring stands proud.

    Parameters
    ----------
    reading
        The fields of the gap.
    path
        The path of the reading.
    job
        The job as written.
    """
    held = text_of(held_at(job, (*path[1:], PROUD)))
    return replace(reading, proud_field=name_of((*path, PROUD)), proud=held)


def _states(
    path: tuple[str, ...], state: dict[str, str], others: tuple[dict[str, str], ...], held: Any  # noqa: ANN401 - as written
) -> Iterator[Choice]:  # fmt: skip
    for key in dict.fromkeys(key for other in others for key in other):
        usual = state.get(key, "")
        also = dict.fromkeys(other[key] for other in others if key in other)
        values = (("", f"{key} {usual}".strip()), *((one, f"{key} {one}") for one in also))
        value = text_of(held.get(key)) if isinstance(held, dict) else ""
        yield Choice(name_of((*path, "state", key)), key, values, value if value in also else "")
