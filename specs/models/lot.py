"""What is on hand for one job, frozen: the only shelf the solver ever sees."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from specs.values.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Lot:
    """Parts of one size with one thickness; `own` for parts of this very unit or trial build."""

    family: str
    size: str
    thickness: Length
    count: int
    condition: Literal["new", "used"] = "new"
    own: bool = False
    tried: bool = False
    """Of the trial build: the shelf's, or `own` where the shelf lacks it."""
    measured: bool = False
    gauge: str = ""
    """The gauge it was measured with, where the files say."""
    within: Length = ZERO
    """How far parts of the lot may be off what was measured of one of them."""
    bin: str = ""
    lot: str = ""
    """Somebody's own label for them."""
    id: str = ""
    """The lot of a shelf's ledger they are of, to reserve them by; `own` if issued to the job."""
    listed_as_sold: bool = field(default=False, compare=False)
    """Whether the shelf lists it as sold, and it was measured in a trial build alone."""
    entry: str = field(default="", compare=False)
    """Which entry of which shelf they are of; empty for what is on no shelf."""
