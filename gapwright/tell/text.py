"""The sentences on parts on the bench: what each is, how sure that is, what to look at next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.fit.conformance_text import percent
from gapwright.output.text_table import table
from gapwright.tell.belongs import belongs_with
from gapwright.tell.next_measurement import next_measurements
from specs.errors import MOST_LISTED
from specs.uncertainty.distribution import MILLION
from specs.values.lengths import ZERO, show

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gapwright.tell.candidates import Candidate
    from gapwright.tell.pile import Between, Pile, SortedLot
    from gapwright.tell.service import Identification, NextMeasurement
    from specs.values.lengths import LengthUnit

ROUNDING = 1e-3  # of floats, in millionths
FEW = 3
"""So many parts are told one by one; more are a pile."""
CAUTION = (
    "A thickness tells a part only among those the unit file has. The maker's manual, its part\n"
    "numbers and a qualified technician decide."
)


def pile_text(pile: Pile, unit: LengthUnit) -> Iterator[str]:
    """Write all parts line by line, with the caution: a few one by one, more as a sorted pile."""
    if len(pile.identified) <= FEW:
        for nth, identified in enumerate(pile.identified):
            yield from [""] * bool(nth)
            yield from _one(identified, unit)
    else:
        yield from _sorted(pile, unit)
    yield from ("", CAUTION)


def part_text(identified: Identification, unit: LengthUnit) -> Iterator[str]:
    """Write one part line by line, with the caution."""
    yield from _one(identified, unit)
    yield from ("", CAUTION)


def _one(identified: Identification, unit: LengthUnit) -> Iterator[str]:
    yield f"{_name(identified, unit)}: {verdict(identified, unit)}"
    yield from _shares(identified, unit)
    yield from (f"  {words}" for words in _wear(identified))
    if identified.verdict == "told":
        yield from (
            f"  {words}" for words in belongs_with(identified.teller.case, identified.candidate)
        )
    yield from _next(next_measurements(identified))


def _name(identified: Identification, unit: LengthUnit) -> str:
    part = identified.part
    facts = [part.label, show(part.thickness, unit), part.gauge, "used" * part.used]
    facts += [f"{name} {value}" for name, value in part.seen]
    return ", ".join(fact for fact in facts if fact)


def verdict(identified: Identification, unit: LengthUnit) -> str:
    """Say in a few words what a part is."""
    if identified.verdict == "unknown":
        seen = ", ".join(f"{name} {value}" for name, value in identified.part.seen)
        return f"NO PART OF {identified.teller.case.unit.name} has {seen}"
    if identified.verdict == "out of limits" and identified.nearest:
        side = "thicker" if identified.off > ZERO else "thinner"
        near = f"{identified.nearest} {_range(identified.nearest, unit)}"
        by = (
            f"{show(abs(identified.off), unit)} {side} than {near}"
            if identified.off
            else f"near {near}"
        )
        return f"OUT OF LIMITS, {by}, which it is nearest to"
    if identified.verdict == "told":
        sure = _sure(identified.shares[0].share, certain=identified.certain)
        return f"{identified.candidate}, {sure} sure"
    return f"BETWEEN {_or([str(one.candidate) for one in identified.shares])}"


def _wear(identified: Identification) -> Iterator[str]:
    """Say whether a used part may be used again, and why not."""
    if identified.standing == "good":
        yield "used, within every limit the unit file has"
    elif identified.standing:
        word = (
            "WORN, not to be used again"
            if identified.standing == "worn"
            else "NOT KNOWN TO BE GOOD"
        )
        yield f"{word}: {'; '.join(ground.words for ground in identified.grounds)}"


def _shares(identified: Identification, unit: LengthUnit) -> Iterator[str]:
    width = max((len(str(one.candidate)) for one in identified.shares), default=0)
    for one in identified.shares:
        yield (
            f"  {str(one.candidate).ljust(width)}  {_range(one.candidate, unit)}  "
            f"{_sure(one.share, certain=identified.certain)}"
        )


def _range(candidate: Candidate, unit: LengthUnit) -> str:
    low, high = candidate.low, candidate.high
    return show(low, unit) if low == high else f"{show(low, unit)} to {show(high, unit)}"


def _sure(share: float, *, certain: bool = False) -> str:
    """Write a chance, never rounded up: 100 % only for what cannot be otherwise."""
    most = MILLION if certain else MILLION - 1
    return percent(min(most, int(share * MILLION + ROUNDING)))


def _next(looks: Sequence[NextMeasurement]) -> Iterator[str]:
    if looks:
        yield "  next, what tells most first"
    for look in looks[:MOST_LISTED]:
        right = _sure(look.right, certain=look.kind == "feature")
        yield f"    {_look(look)}: then {right} sure"


def _look(look: NextMeasurement) -> str:
    if look.kind == "gauge":
        return f"measure with {look.name}"
    shows = "; ".join(f"{value}: {_or(who)}" for value, who in look.values)
    return f"look at {look.name} ({shows})"


def _or(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _sorted(pile: Pile, unit: LengthUnit) -> Iterator[str]:
    """Write a pile: its lots, then the parts between sizes, then those that are none."""
    identified = sum(len(lot.identified) for lot in pile.lots)
    yield f"{len(pile.identified)} parts, {pile.teller.case.unit.name}: {identified} told"
    if pile.lots:
        yield ""
        yield from table(
            [
                ("lot", "parts", "read", "wrong, to be expected"),
                *(_lot_cells(lot, unit) for lot in pile.lots),
            ]
        )
    for between in pile.between:
        yield ""
        yield from _open(between, unit)
    kept_off = [one for one in pile.identified if one.verdict == "told" and not one.to_shelf]
    if kept_off:
        yield ""
        yield f"NOT TO THE SHELF: {len(kept_off)}"
        for one in kept_off[:MOST_LISTED]:
            yield f"  {_row_name(one, unit)}, {one.candidate}: {'; '.join(_wear(one))}"
        yield from _more(kept_off)
    if pile.out:
        yield ""
        yield f"OUT OF LIMITS or of another unit: {len(pile.out)}"
        for one in pile.out[:MOST_LISTED]:
            why = "".join(f"; {words}" for words in _wear(one) if one.grounds)
            yield f"  {_row_name(one, unit)}: {verdict(one, unit)}{why}"
        yield from _more(pile.out)


def _lot_cells(lot: SortedLot, unit: LengthUnit) -> tuple[str, ...]:
    low, high = show(lot.thinnest, unit), show(lot.thickest, unit)
    read = low if low == high else f"{low} to {high}"
    return (str(lot.candidate), str(len(lot.identified)), read, f"{lot.wrong:.2f}")


def _open(between: Between, unit: LengthUnit) -> Iterator[str]:
    names = [str(one) for one in between.candidates]
    yield f"BETWEEN {_or(names)}: {len(between.identified)}"
    for one in between.identified[:MOST_LISTED]:
        shares = ", ".join(f"{share.candidate} {_sure(share.share)}" for share in one.shares)
        yield f"  {_row_name(one, unit)}: {shares}"
    yield from _more(between.identified)
    yield from _next(between.looks)


def _more(listed: Sequence[Identification]) -> Iterator[str]:
    if len(listed) > MOST_LISTED:
        yield f"  and {len(listed) - MOST_LISTED} more"


def _row_name(identified: Identification, unit: LengthUnit) -> str:
    line = f"line {identified.part.line}" if identified.part.line else ""
    return ", ".join(fact for fact in (line, _name(identified, unit)) if fact)
