"""Repeated places of a stack: their expansion, and the place in the file that each came from.

`[apply plate, {repeat: 3, of: [friction, drum steel]}, drum ring]` is eight places.
"""

from __future__ import annotations

import re
from typing import Any

from specs.values.fields import refuse

MOST_PLACES = 99


def write_out(value: Any) -> Any:
    """Expand the repeated places of a stack, before its model validates it.

    Parameters
    ----------
    value
        The stack as it stands in the file.

    Returns
    -------
    object
        The list of all places; a value that is no list comes back as it is.

    Raises
    ------
    PydanticCustomError
        Where a `repeat` is no number from 1 to 99, or the stack has more than 99 places.
    """
    if not isinstance(value, list):
        return value
    places: list[Any] = []
    for item in value:
        block = _block(item)
        if block is None:
            places.append(item)
            continue
        count = item["repeat"]
        if not _counts(count):
            raise refuse(count, "write how often the places repeat: a number from 1 to 99")
        if len(places) + len(block) * int(count) > MOST_PLACES:
            raise refuse(item, f"a stack has at most {MOST_PLACES} places")
        places += block * int(count)
    if len(places) > MOST_PLACES:
        raise refuse(value, f"a stack has at most {MOST_PLACES} places")
    return places


def step_of(written: list[Any], place: int) -> tuple[str | int, ...]:
    """Find where a place of the expanded stack stands in the file.

    Parameters
    ----------
    written
        The stack as it stands in the file.
    place
        The index of the place in the expanded stack, from 0.

    Returns
    -------
    tuple of (str or int)
        The path within `written`; empty for an index beyond the stack's end.
    """
    for index, item in enumerate(written):
        block = _block(item)
        if block is None or not _counts(item["repeat"]):
            if not place:
                return (index,)
            place -= 1
        elif place < len(block) * int(item["repeat"]):
            inner = (place % len(block),) if isinstance(item["of"], list) else ()
            return (index, "of", *inner)
        else:
            place -= len(block) * int(item["repeat"])
    return ()


def _block(item: Any) -> list[Any] | None:
    if not isinstance(item, dict) or set(item) != {"repeat", "of"}:
        return None
    return item["of"] if isinstance(item["of"], list) else [item["of"]]


def _counts(count: Any) -> bool:
    return isinstance(count, str) and bool(re.fullmatch(r"[1-9][0-9]?", count))
