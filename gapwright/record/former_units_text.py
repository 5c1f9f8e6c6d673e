"""The sentences on kept jobs that several verbs have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.shelf.text import so_many

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from specs.files.history import Uncounted

MOST_NAMED = 5


def uncounted_words(uncounted: Sequence[Uncounted]) -> Iterator[str]:
    """Name the kept jobs that do not count, with the reason."""
    if uncounted:
        yield f"not counted: {so_many(len(uncounted), 'job')}"
        yield from (f"  {one.job}: {one.why}" for one in uncounted[:MOST_NAMED])
    if uncounted[MOST_NAMED:]:
        yield f"  and {len(uncounted) - MOST_NAMED} more"
