"""What is on hand for one job, frozen: the only shelf the solver ever sees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from specs.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Lot:
    """Parts of one size with one thickness; `own` for parts of this very unit or trial build."""

    family: str
    size: str
    thickness: Length
    count: int
    condition: Literal["new", "used"] = "new"
    own: bool = False
    measured: bool = False
    gauge: str = ""
    """The gauge it was measured with, where the files say."""
    within: Length = ZERO
    """How far parts of the lot may be off what was measured of one of them."""
    bin: str = ""
    lot: str = ""
