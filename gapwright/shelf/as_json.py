"""A shelf as JSON, in shapes that are promised and versioned; DEVELOPERS.md lists the keys."""

from __future__ import annotations

import json
from itertools import groupby
from typing import TYPE_CHECKING, Any

from gapwright.output.answers import plain
from gapwright.shelf.answer import LotAnswer

if TYPE_CHECKING:
    from gapwright.shelf.import_export import Imported
    from gapwright.shelf.listing import Listed, Told
    from gapwright.shelf.service import Posted
    from inventory.chain import Link, Verified
    from inventory.movements import Balance, Entry
    from specs.values.lengths import Unit

SHELF, HISTORY = "gapwright shelf 2", "gapwright shelf history 2"
POSTED, IMPORTED, VERIFIED = (
    f"gapwright shelf {what} 1" for what in ("posted", "import", "verify")
)


def dump_shelf(listed: Listed, low: int, unit: Unit) -> str:
    """Write what is on hand, by family and size."""
    families = [
        {"family": family, "sizes": [_size(*size, low, unit) for size in group]}
        for family, group in groupby(listed.sizes, key=lambda size: size[0])
    ]
    return _dump({
        "shape": SHELF,
        "shelf": listed.shelf,
        "entry": listed.entry,
        "last link": _link(listed.link),
        "families": families,
    })  # fmt: skip


def _link(link: Link | None) -> dict[str, Any] | None:
    return {"number": link.number, "hash": link.hash} if link else None


def _size(
    _family: str, size: str, balances: tuple[Balance, ...], low: int, unit: Unit
) -> dict[str, Any]:
    free = sum(balance.free for balance in balances)
    return {
        "size": size,
        "on hand": sum(balance.on_hand for balance in balances),
        "free": free,
        "low": free < low,
        "lots": [_lot(balance, unit) for balance in balances],
    }


def _lot(balance: Balance, unit: Unit) -> dict[str, Any]:
    return {
        **plain(LotAnswer(balance.part), unit),
        "on hand": balance.on_hand,
        "free": balance.free,
        "reserved": [{"job": job, "number": number} for job, number in balance.holders],
    }


def dump_history(told: Told, unit: Unit) -> str:
    """Write what moved."""
    return _dump({
        "shape": HISTORY,
        "shelf": told.shelf,
        "last link": _link(told.link),
        "entries": [_entry(entry, unit) for entry in told.entries],
    })  # fmt: skip


def dump_posted(posted: Posted, unit: Unit) -> str:
    """Write what the ledger has of a request."""
    return _dump(posted_shape(posted, unit))


def posted_shape(posted: Posted, unit: Unit) -> dict[str, Any]:
    """What the ledger has of a request, as plain data."""
    told = [_entry(entry, unit) for entry in posted.entries]
    head = {"shape": POSTED, "shelf": posted.shelf, "again": posted.again, "new lot": posted.new}
    return {**head, "entries": told}


def _entry(entry: Entry, unit: Unit) -> dict[str, Any]:
    movement = entry.movement
    return {
        "entry": entry.number,
        "time": entry.time.isoformat(),
        "request": entry.key,
        "who": entry.who,
        "why": entry.why,
        "kind": movement.kind,
        "part": plain(LotAnswer(movement.part), unit),
        "number": movement.number,
        "job": movement.job or None,
        "of reserved": movement.reserved,
        "change": entry.change,
        "on hand": entry.on_hand,
        "reserved": entry.reserved,
        "link": entry.link,
    }


def dump_imported(imported: Imported, unit: Unit) -> str:
    """Write what a file changes."""
    return _dump({
        "shape": IMPORTED,
        "shelf": imported.shelf,
        "file": imported.file,
        "mode": imported.mode,
        "dry run": imported.dry,
        "posted before": imported.again.isoformat() if imported.again else None,
        "lots": [
            {"part": plain(LotAnswer(one.part), unit), "before": one.before, "after": one.after}
            for one in imported.changes
        ],
        "not in the file": [_lot(one, unit) for one in imported.untold],
        "reserved": imported.reserved,
        "reservations left out": imported.left_out,
    })  # fmt: skip


def dump_verified(name: str, verified: Verified) -> str:
    """Write that the chain holds, and what it holds."""
    return _dump({
        "shape": VERIFIED,
        "shelf": name,
        "requests": verified.requests,
        "entries": verified.entries,
        "lots": verified.lots,
        "link": verified.link or None,
    })  # fmt: skip


def _dump(told: dict[str, Any]) -> str:
    return json.dumps(told, indent=1, ensure_ascii=False)
