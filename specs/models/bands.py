"""Bands: how the screw of one is set, and the travel that gives.

travel of the screw = turns backed off x pitch        of the band's end = that x lever
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from pydantic import Field

from specs.findings import Finding, weigh
from specs.values.fields import LengthText, Rational, Span, SpanText, Text, Whole, Written
from specs.values.lengths import number
from specs.values.torque import TorqueText, TurnsText

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.findings import Path


class Band(Written):
    """A band that is set by a screw: tightened to a torque, then backed off by turns."""

    what: Text | None = Field(
        None, description="Where its screw is.", examples=["left side of the case, above the pan"]
    )
    bed_in: TorqueText | None = Field(
        None,
        description="What the screw is first tightened to, to bed the band in, and let go.",
        examples=["10 N m"],
    )
    times: Whole = Field(
        "1", validate_default=True, description="How often it is bedded in.", examples=["2"]
    )
    tighten: TorqueText = Field(
        description="What the screw is tightened to before it is backed off; in N m, in lb, ft lb, "
        "kgf m or kgf cm, or in two that agree.",
        examples=["5 N m", "72 in lb"],
    )
    back_off: TurnsText = Field(
        description="By how many turns it is then backed off.", examples=["2 to 2 1/4"]
    )
    lock_nut: TorqueText | None = Field(
        None, description="What its lock nut is tightened to.", examples=["29 N m"]
    )
    pitch: LengthText | None = Field(
        None, description="How far the screw moves in one turn.", examples=["1.25 mm"]
    )
    lever: Rational = Field(
        "1",
        validate_default=True,
        description="How many times as far as the screw the end of the band moves.",
        examples=["3/2"],
    )
    travel: SpanText | None = Field(
        None,
        description="How far the end of the band is to move, where the maker states that: what the "
        "turns give must reach it.",
        examples=["2.5 to 3.5 mm"],
    )
    tool: Text | None = Field(
        None,
        description="What it is tightened with; an adapter changes the torque.",
        examples=["torque wrench, without an adapter"],
    )
    note: Text | None = Field(None, description="Printed with it.", examples=["cap screw dry"])

    @property
    def screw_travel(self) -> Span | None:
        """How far the screw moves back; None where its pitch is not known."""
        return self._moved(Fraction(1))

    @property
    def end_travel(self) -> Span | None:
        """How far the end of the band moves; None where the pitch is not known."""
        return self._moved(self.lever)

    def _moved(self, lever: Fraction) -> Span | None:
        """What moves so many times as far as the screw."""
        if self.pitch is None:
            return None
        one_turn = self.pitch * lever
        return Span(one_turn * self.back_off.least, one_turn * self.back_off.most)


def band_findings(path: Path, band: Band) -> Iterator[Finding]:
    """Yield all that is wrong with a band."""
    if band.pitch is not None:
        yield weigh((*path, "pitch"), band.pitch, "pitch")
    if band.bed_in is None and band.times != 1:
        yield Finding((*path, "times"), "goes with `bed in`; write both")
    if band.bed_in is not None and not band.times:
        yield Finding((*path, "times"), "write how often it is bedded in, 1 or more")
    if band.lever <= 0:
        yield Finding((*path, "lever"), "a lever is more than nothing; 1 where there is none")
    if band.pitch is None and band.lever != 1:
        yield Finding((*path, "lever"), "goes with a `pitch`; write both")
    yield from _travel((*path, "travel"), band)


def _travel(path: Path, band: Band) -> Iterator[Finding]:
    stated, given = band.travel, band.end_travel
    if stated is None:
        return
    if given is None:
        yield Finding(path, "goes with a `pitch`; write both")
    elif given.low is not None and given.high is not None:
        apart = (stated.high is not None and given.low > stated.high) or (
            stated.low is not None and given.high < stated.low
        )
        if apart:
            reach = f"{number(given.low, 'mm')} to {number(given.high, 'mm')} mm"
            yield Finding(path, f"the turns give {reach}, all of it outside; one of them is wrong")
