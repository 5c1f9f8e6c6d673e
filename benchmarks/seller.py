"""A made-up unit of packs and end plays with prices, and histories of its drums."""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import TYPE_CHECKING, Any

from gapwright.stock.instance import gaps_of, offers_of, posed
from specs.files.history import History
from specs.files.read import case_of
from specs.formats.yaml import Source
from specs.values.lengths import Length

if TYPE_CHECKING:
    from solver.problem.instance import Instance
    from solver.stock.demand_patterns import Spaces
    from solver.stock.kit import Offer

THOU = 25_400
STEELS = {"thick": 88, "thin": 69}
RINGS = {f"R{nth}": 62 + 8 * nth for nth in range(6)}
WASHERS = {f"W{nth}": 40 + 6 * nth for nth in range(6)}
PACKS = {"low": 2, "high": 3, "reverse": 2, "overdrive": 3}
PLAYS = ("front", "rear")


def unit(packs: int, plays: int) -> dict[str, Any]:
    """A unit with so many packs, which share steels and rings, and end plays that share washers."""
    room = {"space": "room", "readings": {"room": "room for the stack"}}
    return {
        "families": {
            "friction": {"kind": "friction", "fixed": "0.080"},
            "steel": {"kind": "steel", "sizes": _sizes(STEELS, 210)},
            "ring": {"kind": "ring", "sizes": _sizes(RINGS, 330)},
            "washer": {"kind": "washer", "sizes": _sizes(WASHERS, 480)},
        },
        "packs": {
            name: {
                "window": "0.010 to 0.022",
                **room,
                "stack": ["friction", "steel"] * steels + ["friction", "ring"],
            }
            for name, steels in [*PACKS.items()][:packs]
        },
        "end plays": {
            name: {"window": "0.005 to 0.012", **room, "stack": ["washer"]}
            for name in PLAYS[:plays]
        },
    }


def _sizes(sizes: dict[str, int], cents: int) -> dict[str, Any]:
    return {
        name: {"thickness": f"0.{thou:03d}", "price": f"{(cents + thou) / 100}"}
        for name, thou in sizes.items()
    }


def seller(
    packs: int, plays: int, drums: int, seed: int
) -> tuple[Instance, dict[Spaces, int], dict[int, Offer]]:
    """The unit posed with a history of so many drums, and what its sizes cost."""
    document = {"length": "in", "unit": unit(packs, plays)}
    case = case_of(Source("seller", document, {}), needs=("unit",))
    rng = Random(seed)  # noqa: S311 - no secret hangs on it
    names = (*[*PACKS][:packs], *PLAYS[:plays])
    rows = Counter(tuple(_space(name, rng) for name in names) for _ in range(drums))
    history = History("seller.csv", names, rows)
    instance, (found,) = posed(case, gaps_of(case, history), history)
    return instance, found, offers_of(case, instance)[0]


def _space(name: str, rng: Random) -> Length | None:
    if name in PACKS:
        middle = 16 + (80 + 88) * PACKS[name] + 80 + 82
        return Length(THOU * round(rng.gauss(middle, 9)))
    return Length(THOU * round(rng.gauss(63, 8)))
