"""What parts on the bench are, as JSON, in a shape that is promised and versioned."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.output.answers import plain as length
from gapwright.tell.belongs import belongs_with
from gapwright.tell.next_measurement import next_looks

if TYPE_CHECKING:
    from gapwright.tell.candidates import Candidate
    from gapwright.tell.next_measurement import Look
    from gapwright.tell.pile import Pile
    from gapwright.tell.service import Teller, Told
    from specs.values.lengths import Unit

SHAPE = "gapwright tell 1"


def dump_pile(teller: Teller, pile: Pile, unit: Unit | None = None) -> str:
    """Write all parts and lots out as JSON text."""
    shown = unit or teller.case.length
    told = {
        "shape": SHAPE,
        "unit": teller.case.unit.name,
        "sure": share(teller.sure),
        "parts": [_part(teller, one, shown) for one in pile.told],
        "lots": [
            {
                **_named(lot.candidate),
                "parts": len(lot.told),
                "thinnest": length(lot.thinnest, shown),
                "thickest": length(lot.thickest, shown),
                "wrong": share(lot.wrong),
            }
            for lot in pile.lots
        ],
    }
    return json.dumps(told, indent=1, ensure_ascii=False)


def _part(teller: Teller, told: Told, unit: Unit) -> dict[str, Any]:
    part = told.part
    return {
        "part": part.label or None,
        "line": part.line or None,
        "read": length(part.thickness, unit),
        "gauge": part.gauge or None,
        "seen": dict(part.seen),
        "condition": "used" if part.used else "new",
        "verdict": told.verdict,
        "can be": [
            {
                **_named(one.candidate),
                "lowest": length(one.candidate.low, unit),
                "highest": length(one.candidate.high, unit),
                "share": share(one.share),
            }
            for one in told.shares
        ],
        "nearest": told.nearest and {**_named(told.nearest), "off": length(told.off, unit)},
        "standing": told.standing,
        "because": [ground.words for ground in told.grounds],
        "belongs": [*belongs_with(teller.case, told.candidate)] if told.shares else [],
        "next": [_look(look) for look in next_looks(teller, told)],
    }


def _named(candidate: Candidate) -> dict[str, Any]:
    return {"family": candidate.family, "size": candidate.size or None}


def _look(look: Look) -> dict[str, Any]:
    values = [{"value": value, "shown by": [*who]} for value, who in look.values]
    return {"kind": look.kind, "name": look.name, "values": values, "then": share(look.right)}


def share(value: float) -> float:
    """A chance or a sum of chances to six decimals: no more of it is worth anything."""
    return round(value, 6)
