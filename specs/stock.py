"""What is on hand for one job, frozen: the only shelf the solver ever sees."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from specs.lengths import Length


@dataclass(frozen=True, slots=True)
class Lot:
    """Parts of one size with one thickness; `own` for parts of this very unit or trial build."""

    family: str
    size: str
    thickness: Length
    count: int
    condition: Literal["new", "used"] = "new"
    own: bool = False
    bin: str = ""
    lot: str = ""
    """Somebody's own label for them."""
    id: str = ""
    """The lot of a shelf's ledger they are of, to reserve them by."""
    entry: str = field(default="", compare=False)
    """Which entry of which shelf they are of; empty for what is on no shelf."""
