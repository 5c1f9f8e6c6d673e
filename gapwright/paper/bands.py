"""The adjustment of a band, step by step, as a sheet shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.values.lengths import number, show
from specs.values.torque import show_torque

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.bands import Band
    from specs.models.unit import Unit
    from specs.values.fields import Span
    from specs.values.lengths import LengthUnit


@dataclass(frozen=True, slots=True)
class BandCard:
    """One band on a sheet: the steps in order, the travel they give, and what to mind."""

    name: str
    what: str
    steps: tuple[str, ...]
    travel: tuple[str, ...]
    note: str


def band_cards(unit: Unit, first: LengthUnit) -> tuple[BandCard, ...]:
    """Return a card for each band of a unit, lengths in `first` and in the other unit beside it."""
    return tuple(_card(name, band, first) for name, band in unit.bands.items())


def _card(name: str, band: Band, first: LengthUnit) -> BandCard:
    return BandCard(
        name=name,
        what=band.what or "",
        steps=tuple(_steps(band)),
        travel=tuple(_travel(band, first)),
        note=band.note or "",
    )


def _steps(band: Band) -> Iterator[str]:
    tool = f", {band.tool}" * bool(band.tool)
    if band.bed_in:
        times = f"{band.times} times" if band.times > 1 else "once"
        yield f"bed in: tighten to {show_torque(band.bed_in)} and let go, {times}{tool}"
        tool = ""
    yield f"tighten to {show_torque(band.tighten)}{tool}"
    turns = band.back_off
    yield f"back off {turns.text} turn{'s' * (turns.most > 1)}"
    if band.lock_nut:
        yield f"hold the screw there; lock nut to {show_torque(band.lock_nut)}"


def _travel(band: Band, first: LengthUnit) -> Iterator[str]:
    screw, end = band.screw_travel, band.end_travel
    if screw and end:
        yield f"screw back {_both(screw, first)}"
        if band.lever != 1:
            yield f"band end {_both(end, first)}, {band.lever} of it"
    if band.travel:
        yield f"maker's travel {_both(band.travel, first)}"


def _both(span: Span, first: LengthUnit) -> str:
    """Write a travel in both units; an end that is open is left out."""
    return f"{_reach(span, first)} ({_reach(span, beside(first))})"


def _reach(span: Span, unit: LengthUnit) -> str:
    ends = [end for end in (span.low, span.high) if end is not None]
    if len(ends) < 2:  # noqa: PLR2004 - both ends
        return f"{'at most' if span.low is None else 'at least'} {show(ends[0], unit)}"
    if ends[0] == ends[1]:
        return show(ends[0], unit)
    return f"{number(ends[0], unit)} to {show(ends[1], unit)}"


def beside(first: LengthUnit) -> LengthUnit:
    """Return the second unit of length on a sheet: in beside mm, mm beside in and thou."""
    return "in" if first == "mm" else "mm"
