"""Gauges: what each can tell, and how far its readings may be off."""

from __future__ import annotations

from functools import cache
from typing import ClassVar, Literal

from pydantic import Field

from specs.uncertainty.distribution import Doubt
from specs.values.fields import Flag, LengthText, Written
from specs.values.lengths import Length

TELLS, FINE = Length(25_400), Length(5_080)
"""0.0010 in: what a gauge tells where nothing is said of it; 0.0002 in: what a micrometer tells."""


class Gauge(Written):
    """A gauge, or a hand with a gauge: what it can tell, and how far it may be off."""

    short: ClassVar[str] = "tells"

    tells: LengthText | None = Field(
        None,
        description="What it can tell: one reading is off by no more than this, either way. "
        "0.001 in where nothing is said, of a `micrometer` 0.0002 in; of `u`, twice that.",
        examples=["0.001 in"],
    )
    shape: Literal["rectangular", "triangular"] = Field(
        "rectangular",
        description="rectangular where it may be off by any of that alike, triangular where it "
        "mostly is off by little.",
        examples=["triangular"],
    )
    u: LengthText | None = Field(
        None,
        description="In place of that: the standard uncertainty of one reading, where you know it.",
        examples=["0.0004 in"],
    )
    limits: LengthText | None = Field(
        None,
        description="How far all its readings may be off together, either way: the limits of "
        "error its maker or its certificate gives.",
        examples=["0.0005 in"],
    )

    reads_parts: Flag = Field(
        "yes",
        validate_default=True,
        description="no where it cannot read how thick a part is, as a dial indicator: "
        "`gapwright tell` does not name it then.",
        examples=["no"],
    )

    @property
    def telling(self) -> Length:
        """What it can tell: as stated, or twice its `u`, or `TELLS`."""
        return self.tells or (self.u * 2 if self.u else TELLS)

    @property
    def doubt(self) -> Doubt:
        """How far one reading may be off, by itself."""
        return Doubt("normal", self.u) if self.u else Doubt(self.shape, self.telling)


@cache
def usual_gauges() -> dict[str, Gauge]:
    """Return the gauges that every bench has, by name; a file may describe them otherwise."""
    return {
        name: Gauge.model_construct(
            tells=tells, shape="rectangular", u=None, limits=None, reads_parts=True
        )
        for name, tells in (("caliper", TELLS), ("micrometer", FINE))
    }
