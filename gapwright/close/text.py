"""The sentences of `close`: what left the shelf, what is free again, what is to be minded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.record.text import taken_words
from specs.errors import shortened

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator, Sequence

    from gapwright.close.service import Closing
    from gapwright.record.sizes import Size
    from specs.models.record import Taken
    from specs.values.lengths import LengthUnit


def close_text(closing: Closing, unit: LengthUnit) -> Iterator[str]:
    """Say how a job was closed, line by line."""
    closed, corrected, case = closing.closed, closing.corrected, closing.case
    name = f"{shortened(case.job.name)}, {case.unit.name}"
    if corrected:
        yield f"{name}: CORRECTED on {corrected.on} by {corrected.by}: {corrected.why}"
        yield f"closed on {closed.on} by {closed.by}"
    else:
        yield f"{name}: CLOSED on {closed.on} by {closed.by}"
    shelf = case.ledger or case.origins["shelf"].source.file
    yield from _listed(f"left {shelf}", closing.out, unit)
    yield from _listed(f"back on {shelf}", closing.back, unit)
    yield from _listed("reserved no longer", closing.released, unit)
    if not (closing.out or closing.back or closing.released):
        yield "nothing moves on the shelf"
    yield from _sizes("went in and was not promised", closing.extra)
    yield from _sizes("was promised and did not go in", closing.unused)
    state = closing.state
    if state.unbuilt:
        yield f"not measured after assembly: {', '.join(state.unbuilt)}"
    if state.off:
        yield f"NOT AS PROMISED: {', '.join(state.off)}"


def _listed(head: str, parts: Sequence[Taken], unit: LengthUnit) -> Iterator[str]:
    if parts:
        yield head
        yield from (f"  {taken_words(taken, unit)}" for taken in parts)


def _sizes(head: str, sizes: Counter[Size]) -> Iterator[str]:
    if sizes:
        words = (f"{number} x {' '.join(size)}" for size, number in sizes.items())
        yield f"{head}: {', '.join(words)}"
