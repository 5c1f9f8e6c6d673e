"""Repeated places of a stack: how they are written out, and where one stands in the file.

[apply plate, {repeat: 3, of: [friction, drum steel]}, drum ring] is eight places
"""

from __future__ import annotations

import re
from typing import Any

from specs.values.fields import refuse

MOST_PLACES = 99


def write_out(value: Any) -> Any:
    """Write repeated places out; raises PydanticCustomError where a stack grows beyond reason."""
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
    """Where the place of that index stands in a stack as written; nothing beyond its end."""
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
