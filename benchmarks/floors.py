"""Makes floors of jobs to plan, from a seed: one unit, one tight shelf, many drums.

Every job is a drum of a unit of four packs, read with a depth gauge; a build is planted in each.
The shelf holds a share of what all planted builds take, so that not all can be completed.
"""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import TYPE_CHECKING, Any

from inventory import catalogue, on_hand
from solver import instance_of
from solver.batch import Batch, BatchJob, batch_of
from specs.files.read import case_of
from specs.formats.yaml import Source

if TYPE_CHECKING:
    from solver import Instance

STEELS = (690, 785, 880)
RINGS = (620, 660, 700, 740, 780, 820)
FRICTION, FIXED = 800, 1000 + 1900
PACKS = {
    "low": (3, "shifts"),
    "high": (4, "shifts"),
    "reverse": (5, "holds"),
    "drive": (4, "shifts"),
}
WINDOW = (500, 700)
STEP = 5  # half a thousandth of an inch: what a depth gauge tells
TIGHT = 80  # per cent of what the planted builds take


def floor(jobs: int, seed: int, tight: int = TIGHT) -> Batch:
    """Make a batch of so many jobs."""
    return batch_of(_jobs(jobs, Random(seed), tight))  # noqa: S311 - no secret hangs on it


def _jobs(number: int, random: Random, tight: int) -> list[BatchJob]:
    taken: Counter[tuple[str, int]] = Counter()
    rooms = [_rooms(random, taken) for _ in range(number)]
    shelf: dict[str, dict[str, str]] = {"steel": {}, "ring": {}}
    for family, size in sorted(_all_sizes()):
        shelf[family][_inches(size)] = str(taken[family, size] * tight // 100)
    names = [f"job {nth:05d}" for nth in range(number)]
    return [
        BatchJob(name, _task(room, shelf), random.choice([1, 1, 1, 2, 3]))
        for name, room in zip(names, rooms, strict=True)
    ]


def _all_sizes() -> list[tuple[str, int]]:
    return [("steel", size) for size in STEELS] + [("ring", size) for size in RINGS]


def _rooms(random: Random, taken: Counter[tuple[str, int]]) -> dict[str, int]:
    rooms = {}
    for name, (steels, _) in PACKS.items():
        parts = [("steel", random.choice(STEELS)) for _ in range(steels)]
        parts.append(("ring", random.choice(RINGS)))
        taken.update(parts)
        gap = random.randrange(*WINDOW, STEP)
        rooms[name] = gap + FIXED + FRICTION * (steels + 1) + sum(size for _, size in parts)
    return rooms


def _task(rooms: dict[str, int], shelf: dict[str, Any]) -> Instance:
    readings = {name: {"readings": {"room": _inches(room)}} for name, room in rooms.items()}
    document = {"length": "in", "unit": _unit(), "shelf": shelf, "job": {"gaps": readings}}
    case = case_of(Source("floor", document, {}))
    gaps = tuple(case.unit.gaps)
    return instance_of(case, (*on_hand(case, gaps), *catalogue(case)), gaps)


def _unit() -> dict[str, Any]:
    return {
        "families": {
            "steel": {"kind": "steel", "sizes": _sizes(STEELS, "2")},
            "ring": {"kind": "ring", "sizes": _sizes(RINGS, "5")},
            "friction": {"kind": "friction", "fixed": _inches(FRICTION)},
            "plates": {"kind": "apply plate", "fixed": _inches(FIXED)},
        },
        "packs": {
            name: {
                "window": " to ".join(map(_inches, WINDOW)),
                "space": "room",
                "readings": {"room": "what there is to fill"},
                "works": works,
                "stack": ["plates", _plates(steels), "friction", "ring"],
            }
            for name, (steels, works) in PACKS.items()
        },
    }  # fmt: skip


def _sizes(sizes: tuple[int, ...], price: str) -> dict[str, Any]:
    return {_inches(size): {"thickness": _inches(size), "price": price} for size in sizes}


def _plates(steels: int) -> dict[str, Any]:
    return {"repeat": str(steels), "of": ["friction", "steel"]}


def _inches(tenths: int) -> str:
    return f"{tenths // 10_000}.{tenths % 10_000:04d}"
