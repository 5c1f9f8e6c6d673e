"""What the shelf's verbs give back, as it is declared for JSON."""

from __future__ import annotations

from typing import Literal

from gapwright.output.answers import Answer, key
from specs.values.lengths import Length


class LotAnswer(Answer):
    """A lot of a shelf's ledger: its code and what makes it."""

    code: str = key(lambda part: part.lot_id)
    """The short code on the lot's label, made from the lot itself."""
    family: str
    """The family, as the shelf names it."""
    size: str
    """The size, as the shelf names it."""
    thickness: Length | None
    """The thickness as measured; null for parts taken as sold."""
    condition: Literal["new", "used"]
    """Whether its parts are new or were in a unit."""
    bin: str | None
    """The bin it lies in."""
    lot: str | None = key(lambda part: part.label)
    """The shop's own label for it."""
