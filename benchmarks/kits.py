"""A kit: checked against a fit for each room, and drawn from a ledger against its bare request."""

from __future__ import annotations

from contextlib import ExitStack
from functools import partial
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from benchmarks.stopwatch import ask_same, in_turns
from benchmarks.table import Row, Skipped
from gapwright.demo import KIT, write_demo
from gapwright.kit.packing import Packing, pack_kits
from gapwright.kit.service import KitCheck, check_case
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Part, Request
from solver import Fit, fit
from specs.files.read import read_kit
from specs.parts.kit_contents import all_held

if TYPE_CHECKING:
    from inventory import Shelf
    from specs.models.case import Case

EACH, LOTS = 30, 2_000


def run(*, quick: bool) -> list[Row | Skipped]:
    """Time the demo's kit, checked and packed; what both ways look at must come out the same."""
    rounds = 1 if quick else 7
    with TemporaryDirectory() as folder:
        kit = write_demo(Path(folder) / "demo")[0].parent / KIT
        case = read_kit(kit)
        return [_checked(case, 3 if quick else EACH, rounds), _packed(case, Path(folder), rounds)]


def _checked(case: Case, each: int, rounds: int) -> Row:
    check = check_case(case)
    some = {
        nth: range(0, covered.sweep.count, max(1, covered.sweep.count // each))
        for nth, covered in enumerate(check.covers)
    }
    ask_same({"check": partial(_served, check, some), "fits": partial(_fitted, check, some)})
    seconds = in_turns(
        {"check": partial(check_case, case), "fits": partial(_fitted, check, some)}, rounds
    )
    rooms = sum(covered.sweep.count for covered in check.covers)
    all_ = seconds["fits"] * rooms / sum(map(len, some.values()))
    note = f"{rooms} rooms of {len(check.covers)} gaps"
    return Row("kit check", "by sums", "a fit each", (seconds["check"],), (all_,), 1.0, note)


def _served(check: KitCheck, some: dict[int, range]) -> list[bool]:
    return [
        check.covers[gap].served[nth].status == "fit"
        for gap, rooms in some.items()
        for nth in rooms
    ]


def _fitted(check: KitCheck, some: dict[int, range]) -> list[bool]:
    return [
        isinstance(fit(check.covers[gap].sweep.at(nth)), Fit)
        for gap, rooms in some.items()
        for nth in rooms
    ]


def _packed(case: Case, folder: Path, rounds: int) -> Row:
    """One kit from a shelf of many lots, against posting its movements, known beforehand."""
    address = str(folder / "kits.db")
    create_shelf(address)
    wanted = all_held(case)
    parts = {size: Part(size[0], size[1] or "standard") for size in wanted}
    others = [Movement("receive", Part("other", str(nth)), 1) for nth in range(LOTS)]
    brought = [Movement("receive", part, 999) for part in parts.values()]
    taken = tuple(Movement("issue", parts[size], n, "bare") for size, n in wanted.items())
    with ExitStack() as open_files:
        shelf = open_files.enter_context(open_shelf(address))
        shelf.post(Request("stock", "we", "", (*brought, *others)))
        keys = count()
        ways = {
            "pack": lambda: pack_kits(Packing(case), address, Author("we")),
            "post": lambda: _posted(shelf, taken, f"bare {next(keys)}"),
        }
        seconds = in_turns(ways, rounds)
    note = f"a shelf of {LOTS + len(parts):,} lots"
    return Row("kit pack", "pack", "bare post", (seconds["pack"],), (seconds["post"],), None, note)


def _posted(shelf: Shelf, movements: tuple[Movement, ...], key: str) -> None:
    shelf.post(Request(key, "we", "", movements))
