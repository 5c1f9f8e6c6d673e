"""The sorted pile as a file of counts, for `gapwright shelf import`."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

from gapwright.output.files import put
from inventory.movements import Balance, Part
from inventory.sheet import write_sheet
from specs.models.gauges import usual_gauges
from specs.values.lengths import Length

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.tell.candidates import Candidate
    from gapwright.tell.pile import Pile
    from gapwright.tell.service import Identification, Teller

_FINE_ENOUGH = float(usual_gauges()["micrometer"].doubt.variance)


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
    put(count_file(pile), file, replace=replace)
    left = left_out(pile)
    aside = f"; left out, as no shelf has them: {', '.join(left)}" if left else ""
    return (
        f"{file}: what is told, to be brought to a shelf with "
        f"`gapwright shelf import shop.db {file} --mode add`{aside}"
    )


def count_file(pile: Pile) -> str:
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


def left_out(pile: Pile) -> list[str]:
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
