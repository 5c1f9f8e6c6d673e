"""The service of `tell` for a pile: it reads parts from the options, identifies and sorts them.

The result says how many there are of each size, which lie between sizes, and which are none. It can
be written as a file of counts, for `gapwright shelf import`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from gapwright.output.files import put
from gapwright.tell.belongs import check_mixed
from gapwright.tell.candidates import feature_names
from gapwright.tell.next_measurement import next_measurements
from gapwright.tell.parts_table import (
    RowError,
    check_gauge,
    check_used,
    places,
    read_list,
    shape,
)
from gapwright.tell.service import Measured, Teller
from inventory.movements import Balance, Part
from inventory.sheet import write_sheet
from specs.errors import InputError, Problem, quoted
from specs.files.read import read_unit_alone
from specs.findings import near
from specs.models.gauges import usual_gauges
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gapwright.tell.candidates import Candidate
    from gapwright.tell.options import TellOptions
    from gapwright.tell.service import Identification, NextMeasurement
    from specs.values.lengths import LengthUnit

HERE = Path("unit.yaml")
LEAST_SURE = 50
_FINE_ENOUGH = float(usual_gauges()["micrometer"].doubt.variance)


@dataclass(frozen=True, slots=True)
class SortedLot:
    """The parts of a pile that are of one size."""

    candidate: Candidate
    identified: tuple[Identification, ...]

    @property
    def wrong(self) -> float:
        """The expected number of them that are of another size."""
        return sum(one.wrong for one in self.identified)

    @property
    def thinnest(self) -> Length:
        """The least thickness that was read."""
        return min(one.part.thickness for one in self.identified)

    @property
    def thickest(self) -> Length:
        """The greatest thickness that was read."""
        return max(one.part.thickness for one in self.identified)


@dataclass(frozen=True, slots=True)
class Between:
    """The parts that may be of the same several sizes, and what would tell these apart."""

    candidates: tuple[Candidate, ...]
    identified: tuple[Identification, ...]
    looks: tuple[NextMeasurement, ...]


@dataclass(frozen=True, slots=True)
class Pile:
    """All parts of a pile, sorted."""

    identified: tuple[Identification, ...]
    lots: tuple[SortedLot, ...]
    """In the order of the unit file, what is no part of a stack last."""
    between: tuple[Between, ...]
    out: tuple[Identification, ...]
    """Out of limits, or unknown to the unit."""

    @property
    def teller(self) -> Teller:
        """The teller that identified the parts, with their unit."""
        return self.identified[0].teller

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length, in which lengths are shown unless asked otherwise."""
        return self.teller.case.length


def tell_parts(texts: tuple[str, ...], options: TellOptions) -> Pile:
    """Read the parts that are asked about, and identify and sort them.

    Parameters
    ----------
    texts
        Thicknesses as written, one for each part.
    options
        The options of `tell`.

    Raises
    ------
    InputError
        With all that is wrong with the options, the list or the unit's file, or with mixed parts.
    """
    if options["unit"] is None and not HERE.exists():
        raise InputError(Problem("name the file that holds the unit: --unit unit.yaml"))
    case = read_unit_alone(options["unit"] or HERE)
    teller = Teller(case, options["sure"] / 100)
    parts = _parts(teller, texts, options)
    if not parts:
        raise InputError(Problem("write a thickness, such as 0.0655in, or --list pile.csv"))
    check_mixed(teller, parts, str(options["list_"]))
    return sort_pile(teller, parts)


def identify_part(part: Measured | str, unit: Path, sure: float = 95.0) -> Identification:
    """Say which family and size of a unit a measured part can be, and how sure that is.

    Parameters
    ----------
    part
        Its thickness as the bench writes it, such as `"0.0655in"`, in the unit file's unit of
        length where it states none; or a `Measured` with what else is known of it.
    unit
        The file of the unit.
    sure
        The chance, in percent, from which one size is told: above 50, 100 at most.

    Returns
    -------
    Told
        The verdict, and each size it can be with its chance, the likeliest first.

    Raises
    ------
    InputError
        Where the file or the thickness cannot be read, or where the part's size and what is seen of
        it never belong together.
    """
    if not LEAST_SURE < sure <= 100:  # noqa: PLR2004 - percent
        raise InputError(Problem(f"sure: found {sure:g}; write percent above 50, 100 at most"))
    case = read_unit_alone(unit)
    length = case.origins["unit"].length
    try:
        measured = Measured(places(part, length)) if isinstance(part, str) else part
        check_gauge(measured.gauge, [*case.gauges])
    except RowError as slip:
        raise InputError(Problem(str(slip))) from None
    if not measured.at:
        raise InputError(Problem("the part has no thickness; give one at each place it was read"))
    teller = Teller(case, sure / 100)
    check_mixed(teller, [measured], "")
    return teller.tell(measured)


def _parts(teller: Teller, texts: tuple[str, ...], options: TellOptions) -> tuple[Measured, ...]:
    case = teller.case
    length = case.origins["unit"].length
    features = feature_names(teller.every())
    gauges = [*case.gauges]
    try:
        check_gauge(options["gauge"], gauges)
        seen = tuple(_seen(text, features) for text in options["seen"])
        usual = Measured(
            (), options["gauge"], seen, options["used"],
            shape("--flatness", options["flatness"], length),
            shape("--coning", options["coning"], length), options["found"],
        )  # fmt: skip
        check_used(usual)
        identified = tuple(replace(usual, at=places(text, length)) for text in texts)
    except RowError as slip:
        raise InputError(Problem(str(slip))) from None
    if options["list_"] is None:
        return identified
    return (*identified, *read_list(options["list_"], length, usual, features, gauges))


def _seen(text: str, features: list[str]) -> tuple[str, str]:
    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals or not value:
        raise RowError(f"--seen: {quoted(text)}; write what you see as teeth=36")
    if name not in features:
        raise RowError(f"--seen: {near(name, features, 'the unit file states')}")
    return name, value


def sort_pile(teller: Teller, parts: Iterable[Measured]) -> Pile:
    """Identify every part, and put together those of one size."""
    identified = tuple(teller.tell(part) for part in parts)
    lots: dict[Candidate, list[Identification]] = {}
    open_: dict[tuple[Candidate, ...], list[Identification]] = {}
    for one in identified:
        if one.verdict == "told":
            lots.setdefault(one.candidate, []).append(one)
        elif one.verdict == "between":
            key = tuple(sorted((s.candidate for s in one.shares), key=lambda c: (c.low, str(c))))
            open_.setdefault(key, []).append(one)
    every = [(one.family, one.size) for one in teller.every()]
    order = sorted(lots, key=lambda one: every.index((one.family, one.size)))
    return Pile(
        identified,
        tuple(SortedLot(one, tuple(lots[one])) for one in order),
        tuple(_between(key, tuple(some)) for key, some in open_.items()),
        tuple(one for one in identified if one.verdict in ("out of limits", "unknown")),
    )


def _between(candidates: tuple[Candidate, ...], identified: tuple[Identification, ...]) -> Between:
    """Work out what would tell some sizes apart, from the part that is hardest to tell."""
    hardest = max(identified, key=lambda one: one.wrong)
    return Between(candidates, identified, next_measurements(hardest))


def write_counts(pile: Pile, file: Path, *, replace: bool) -> str:
    """Write the parts that were identified as a file of counts, and say how to import it.

    Parameters
    ----------
    pile
        The sorted pile.
    file
        The file to write.
    replace
        Whether a file that stands there may be replaced.
    """
    put(_count_file(pile), file, replace=replace)
    left = _left_out(pile)
    aside = f"; left out, as no shelf has them: {', '.join(left)}" if left else ""
    return (
        f"{file}: what is told, to be brought to a shelf with "
        f"`gapwright shelf import shop.db {file} --mode add`{aside}"
    )


def _count_file(pile: Pile) -> str:
    """Write how many parts of each size there are as CSV; of used parts, the good ones alone.

    A thickness is written where the shelf may take it as measured. That is where it was read with a
    gauge at least as good as a micrometer, or where the part is used and no longer as sold. It is
    the average over its places, to the nearest nanometre.
    """
    teller = pile.teller
    counts = Counter(
        _part(one)
        for lot in pile.lots
        if _on_shelf(teller, lot.candidate)
        for one in lot.identified
        if one.to_shelf
    )
    return write_sheet(
        (Balance(part, part.lot_id, number, 0) for part, number in counts.items()),
        teller.case.length,
    )


def _left_out(pile: Pile) -> list[str]:
    """Return the families found that no shelf has, because the unit file has them as fixed."""
    found = (lot.candidate for lot in pile.lots)
    return [*dict.fromkeys(one.family for one in found if not _on_shelf(pile.teller, one))]


def _on_shelf(teller: Teller, candidate: Candidate) -> bool:
    family = teller.case.unit.families.get(candidate.family)
    return bool(family and family.sizes)


def _part(identified: Identification) -> Part:
    part, candidate, teller = identified.part, identified.candidate, identified.teller
    good = teller.gauge(part.gauge, len(part.at)).variance <= _FINE_ENOUGH
    thickness = Length(Fraction(round(part.thickness.nm)))
    return Part(
        candidate.family, candidate.size, thickness if good or part.used else None,
        "used" if part.used else "new",
    )  # fmt: skip
