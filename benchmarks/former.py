"""A fit that is held against many former units, beside reading these as jobs to be planned.

The records are job files in a folder, and promises in a ledger, beside those read whole.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from benchmarks.stopwatch import in_turns
from benchmarks.table import Row, Skipped
from gapwright.demo import write_demo
from gapwright.fit.service import fit_case
from gapwright.record.former_units import Records, former_units
from gapwright.record.promise import promise_of
from inventory import create_shelf, open_shelf
from inventory.movements import Note, Request
from specs.files.notes import PROMISE, note_text, promised_in
from specs.files.read import read_case
from specs.files.read_many import read_cases

AIM = 1.5
LOW, DEPTH = "[.018, .020, .019]", "[1.1480, 1.1490, 1.1485]"


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time a fit with a folder and with a ledger of records, in turns with reading these."""
    number, rounds = (30, 1) if quick else (5_000, 3)
    with TemporaryDirectory() as place:
        shop = Path(place) / "shop"
        write_demo(shop)
        case = read_case(shop / "job.yaml")
        _keep(shop, number)
        address = _promise(shop, number)
        rows = []
        for what, history, read in (
            ("job files", shop / "kept", lambda: read_cases([shop / "kept"])),
            ("promises", address, lambda: _all_promised(address)),
        ):
            records = partial(former_units, history)
            ways = {
                "ours": lambda records=records: fit_case(case, records=Records(records)),
                "read": read,
            }
            in_turns(ways, 1)  # the first time fills the file cache
            times = [in_turns(ways, 1) for _ in range(rounds)]
            ours, peer = (tuple(each[way] for each in times) for way in ("ours", "read"))
            name = f"former units, {number} {what}"
            rows.append(Row(name, "fit with them", "reading them", ours, peer, AIM))
        return [*rows]


def _keep(shop: Path, number: int) -> None:
    """Keep so many jobs of the demo's unit, each with readings of its own."""
    draw = Random(1)  # noqa: S311 - for a benchmark
    text = (shop / "job.yaml").read_text(encoding="utf-8")
    text = text.replace("unit.yaml", "../unit.yaml").replace("shelf.yaml", "../shelf.yaml")
    (shop / "kept").mkdir()
    for nth in range(number):
        low, depth = f"{draw.gauss(0.019, 0.002):.4f}", f"{draw.gauss(1.1485, 0.003):.4f}"
        own = text.replace("J-1042", f"K-{nth}").replace(LOW, f"[{low}, {low}, {low}]")
        own = own.replace(DEPTH, f"[{depth}, {depth}, {depth}]")
        (shop / "kept" / f"K-{nth}.yaml").write_text(own, encoding="utf-8")


def _promise(shop: Path, number: int) -> str:
    """Keep so many promises of the demo's job in a ledger."""
    address = str(shop / "promised.db")
    create_shelf(address)
    report = fit_case(read_case(shop / "job.yaml"))
    promised = promise_of(report, "2031-04-02")
    text = note_text(promised, "in")
    notes = tuple(Note(PROMISE, f"K-{nth}", text) for nth in range(number))
    with open_shelf(address) as shelf:
        shelf.post(replace(Request("all", "bench", "benchmark", ()), notes=notes))
    return address


def _all_promised(address: str) -> None:
    """Read every promise of a ledger whole."""
    with open_shelf(address) as shelf:
        for posted in shelf.notes(PROMISE):
            promised_in(posted.note.text, address)
