"""The sentences of a shelf: what was posted, what is on hand, what a file changes."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from gapwright.output.text_table import table
from specs.formats.table import defused, write_table
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from gapwright.fit.report import Report
    from gapwright.shelf.import_export import Change, Imported
    from gapwright.shelf.listing import HistoryList, OnHandList, SizeOnHand
    from gapwright.shelf.reorder import ReorderPoint
    from gapwright.shelf.service import Posted
    from inventory.chain import Link, Verified
    from inventory.movements import Balance, Entry, Part
    from specs.values.lengths import LengthUnit

PAST = {
    "receive": "received", "reserve": "reserved for", "release": "released from",
    "issue": "issued to", "return": "returned from", "scrap": "scrapped from",
}  # fmt: skip


def posted_text(posted: Posted, unit: LengthUnit) -> str:
    """Say what the ledger has of a request, and how its lots stand now."""
    lines = []
    if posted.again:
        lines.append(f"posted before, {when(posted.entries[0].time)}; nothing was posted twice")
    for entry in posted.entries:
        part = entry.movement.part
        new = f"; a new lot, {part.lot_id}" if posted.new and entry is posted.entries[0] else ""
        lines.append(f"{part_words(part, unit)}: {_did(entry)}; {_stands(entry)}{new}")
    if posted.near:
        lines.append(f'a family new to this shelf; was "{posted.near}" meant?')
    return "\n".join(lines)


def _did(entry: Entry) -> str:
    movement = entry.movement
    if movement.kind == "count":
        if not entry.change:
            return f"{movement.number} counted, as the books had it"
        more = "more" if entry.change > 0 else "fewer"
        return f"{movement.number} counted, {abs(entry.change)} {more} than the books had"
    verb, _, word = PAST[movement.kind].partition(" ")
    return f"{movement.number} {verb}" + f" {word or 'for'} {movement.job}" * bool(movement.job)


def _stands(entry: Entry) -> str:
    return f"{entry.on_hand} on hand" + f", {entry.reserved} reserved" * bool(entry.reserved)


def part_words(part: Part, unit: LengthUnit) -> str:
    """Write a lot in a few words, lengths in `unit`."""
    facts = [part.family, part.size]
    facts += [show(part.thickness, unit)] if part.thickness else []
    facts += ["used"] * (part.condition == "used")
    facts += [f"in {part.bin}"] if part.bin else []
    facts += [f'"{part.label}"'] if part.label else []
    return " ".join(facts)


def so_many(number: int, one: str, more: str = "") -> str:
    """Write a number of things; `more` is the plural where it is not formed with an s."""
    return f"{number} {one if number == 1 else more or one + 's'}"


def packs_words(packs: int, pack: int, name: str) -> str:
    """Write a number of packs of one size as it is sold, such as `2 packs of 10 x ring A`."""
    number = str(packs) if pack == 1 else f"{so_many(packs, 'pack')} of {pack}"
    return f"{number} x {name}"


def when(time: datetime) -> str:
    """Write a time to the minute, in UTC."""
    return f"{time:%Y-%m-%d %H:%M}Z"


def on_hand_text(listed: OnHandList, low: int, unit: LengthUnit) -> str:
    """List the parts on hand by family and size, each lot on a line, lengths in `unit`.

    Sizes that are short are named at the end, and those with fewer than `low` free parts; 0 names
    none.
    """
    sizes = listed.sizes
    lots = [balance for size in sizes for balance in size.lots]
    number, reserved = sum(one.on_hand for one in lots), sum(one.reserved for one in lots)
    as_of = f"as of entry {listed.entry}" + f", link {listed.link}" * bool(listed.link)
    lines = [f"{listed.shelf}: {number} on hand, {reserved} reserved, {as_of}"]
    rows = dict(zip((one.lot_id for one in lots), table([_lot(one, unit) for one in lots]),
                    strict=True))  # fmt: skip
    for family, group in groupby(sizes, key=lambda size: size.family):
        lines += ["", family]
        for size in group:
            marks = "  LOW" * (size.free < low) + "  SHORT" * size.short
            lines.append(f"  {size.size}: {_free(size)}{marks}")
            lines += [f"    {rows[balance.lot_id]}" for balance in size.lots]
    short = [*short_text(listed)]
    if short:
        lines += ["", f"short: {', '.join(short)}"]
    under = [f"{size.family} {size.size}" for size in sizes if size.free < low]
    if low:
        lines += ["", f"fewer than {low} free: {', '.join(under) or 'none'}"]
    return "\n".join(lines)


def short_text(listed: OnHandList) -> Iterator[str]:
    """Name each size that is short, with how many are free and below how many it is short."""
    for size in listed.sizes:
        if size.short:
            yield f"{size.family} {size.size} ({_free(size)}, reorder below {size.reorder_below})"


def _free(size: SizeOnHand) -> str:
    if not size.on_hand:
        return "none"
    return f"{size.free} free" + f" of {size.on_hand}" * (size.on_hand != size.free)


def on_hand_table(listed: OnHandList) -> str:
    """Write the sizes of a shelf as a table for a spreadsheet."""
    rows = (
        (
            defused(size.family), defused(size.size), size.on_hand, size.free,
            size.reorder_below or "", "yes" if size.short else "no",
        )
        for size in listed.sizes
    )  # fmt: skip
    return write_table([("family", "size", "on hand", "free", "reorder below", "short"), *rows])


def reorder_text(point: ReorderPoint) -> str:
    """Say what the reorder point of a size is now, and whether the size is short."""
    name = f"{point.family} {point.size}"
    if not point.number:
        return f"{name}: {'no reorder point any more' if point.before else 'has no reorder point'}"
    before = f", {point.before} before" * bool(point.before and point.before != point.number)
    stands = f"{point.free or 'none'} free" + ", SHORT" * point.short
    return f"{name}: reorder below {point.number}{before}; {stands}"


def _lot(balance: Balance, unit: LengthUnit) -> tuple[str, ...]:
    part = balance.part
    return (
        f"{balance.on_hand:>4}",
        part.bin,
        show(part.thickness, unit) if part.thickness else "",
        "used" if part.condition == "used" else "",
        part.label,
        balance.lot_id,
        ", ".join(f"{number} for {job}" for job, number in balance.holders),
    )


def ledger_text(history: HistoryList, unit: LengthUnit) -> str:
    """List the movements of a shelf in the order of the ledger."""
    link = f"; its last link is {history.link}" * bool(history.link)
    if not history.entries:
        return f"{history.shelf}: nothing moved that is as asked{link}"
    lines = table([
        (
            f"{entry.number:>6}", when(entry.time), entry.who,
            part_words(entry.movement.part, unit), _did(entry), _stands(entry), entry.why,
        )
        for entry in history.entries
    ])  # fmt: skip
    more = so_many(len(history.entries), "entry", "entries")
    return "\n".join([*lines, f"{history.shelf}: {more}{link}"])


def imported_text(imported: Imported, unit: LengthUnit) -> str:
    """Say what a file has changed; of a dry run, list every lot it would change."""
    if imported.again:
        other = "recount" if imported.mode == "count" else "delivery"
        return (
            f"{imported.file} was posted before, {when(imported.again)}; nothing was posted twice. "
            f"If this is another {other} just like it, say so with a key: --request KEY"
        )
    return "\n".join(_imported(imported, unit))


def _imported(imported: Imported, unit: LengthUnit) -> Iterator[str]:
    changed = [one for one in imported.changes if one.before != one.after]
    if imported.dry:
        yield from table([_change(one, unit) for one in changed])
    would = "would be " * imported.dry
    new = sum(one.new for one in imported.changes)
    more, fewer = (
        sum(max(0, sign * (one.after - one.before)) for one in changed) for sign in (1, -1)
    )
    verb = "counted" if imported.mode == "count" else "received"
    yield (
        f"{imported.shelf}: {so_many(len(imported.changes), 'lot')} {would}{verb}, {new} new; "
        f"{so_many(more, 'part')} more, {fewer} fewer"
    )
    if imported.reserved:
        yield f"{so_many(imported.reserved, 'part')} {would}reserved as the file says"
    if imported.left_out:
        yield (
            f"reserved in the file, and left out: {so_many(imported.left_out, 'part')}; only an "
            "empty shelf takes reservations from a file"
        )
    if imported.untold and imported.mode == "count":
        yield f"not in the file, and left as it was: {so_many(len(imported.untold), 'lot')}"
    if imported.dry:
        yield "nothing was posted: this was a dry run"


def _change(change: Change, unit: LengthUnit) -> tuple[str, ...]:
    part = change.part
    return (
        part_words(part, unit), f"{change.before:>4} -> {change.after}", "new" * change.new,
    )  # fmt: skip


def reserved(report: Report) -> Iterator[str]:
    """Say what was posted to the shelf for an answer."""
    posted, job = report.reserved, report.case.job.name
    if posted is None:
        return
    number = sum(number for _, number in posted.reserved)
    if number or posted.kept:
        before = f", {posted.kept} of them before" * bool(posted.kept)
        yield f"reserved for {job}: {so_many(number + posted.kept, 'part')} from the shelf{before}"
    else:
        yield "nothing to reserve: no part comes from the shelf"
    if posted.released:
        yield f"no longer reserved for {job}: {_several(posted.released, report)}"


def _several(parts: Sequence[tuple[Part, int]], report: Report) -> str:
    return ", ".join(f"{number} x {part_words(part, report.case.length)}" for part, number in parts)


def set_aside(report: Report) -> Iterator[str]:
    """Say which lots the answer could not take, and whether the shelf changed meanwhile."""
    if report.set_aside:
        parts = [(one.part, one.on_hand) for one in report.set_aside]
        yield f"on the shelf, but no size of this unit: {_several(parts, report)}"
    if report.issued:
        verb = "counts" if report.issued == 1 else "count"
        yield (
            f"issued to {report.case.job.name} before: {so_many(report.issued, 'part')}, which "
            f"{verb} as in this unit"
        )
    if report.solved_again:
        again = so_many(report.solved_again, "time")
        yield f"the shelf changed while this was solved; it was solved again, {again}"


def verified_text(name: str, verified: Verified, printed: Sequence[Link] = ()) -> str:
    """Say that the chain holds, and with it every printed link."""
    requests = so_many(verified.requests, "request")
    entries = so_many(verified.entries, "entry", "entries")
    history = f"{name}: the chain holds, {requests}, {entries}, {so_many(verified.lots, 'lot')}"
    history += f", {so_many(verified.notes, 'note')}" * bool(verified.notes)
    if verified.requests:
        history += f"\nits last link is {verified.requests}:{verified.link}"
    return history + "".join(f"\nit holds link {link}, as it was printed" for link in printed)
