"""The use case of `stock kit`: the cheapest kit that serves enough of the drums of a history."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from solver.drums import drums_of, servable
from solver.engine import Clock, Limits
from solver.fills import TooManyError
from solver.kit import Kit, Offer, Worth, cheapest_kit, frontier, worths
from solver.pose import pose
from specs.errors import InputError, Problem
from specs.findings import near
from specs.lengths import ZERO
from specs.moving import move_space
from specs.stock import Lot

if TYPE_CHECKING:
    from collections import Counter
    from fractions import Fraction

    from solver.drums import Drum, Spaces
    from solver.task import Choice, Task
    from specs.case import Case
    from specs.history import History

PLENTY = 99  # more parts of a size than any drum takes


@dataclass(frozen=True, slots=True)
class KitReport:
    """A kit, with all that is to be said of it."""

    case: Case
    choices: tuple[Choice, ...]
    gaps: tuple[str, ...]
    """The gaps the history has spaces of; each drum takes the parts of all of them."""
    aside: tuple[str, ...]
    drums: int
    able: int
    """How many drums some kit of the unit's sizes could serve."""
    wanted: int
    priced: bool
    """Whether the unit has prices; without, every part costs the same."""
    kit: Kit | None
    """None where no kit serves so many, or time ran out first."""
    frontier: tuple[Kit, ...]
    worths: tuple[Worth, ...]


def kit_case(
    case: Case, history: History, share: Fraction, limits: Limits | None = None
) -> KitReport:
    """Choose the kit that serves at least a share of the drums. Raises InputError."""
    clock = Clock(limits or Limits())
    gaps = gaps_in(case, history)
    task, drums = drums_in(case, history, gaps)
    offers, priced = _offers(case, task)
    able = servable(drums)
    wanted = ceil(share * drums.total())
    kit = cheapest_kit(drums, offers, wanted, clock) if able >= wanted else None
    return KitReport(
        case, task.choices, gaps, tuple(n for n in case.unit.gaps if n not in gaps),
        drums.total(), able, wanted, priced, kit,
        tuple(frontier(drums, offers, drums.total() // 2, clock)) if kit else (),
        tuple(worths(drums, offers, kit)) if kit else (),
    )  # fmt: skip


def gaps_in(case: Case, history: History) -> tuple[str, ...]:
    """The gaps a history has spaces of; InputError for a column that is none."""
    unknown = [name for name in history.columns if name not in case.unit.gaps]
    if unknown:
        told = near(unknown[0], [*case.unit.gaps], "packs and end plays")
        raise InputError(Problem(told, history.file, 1))
    return tuple(name for name in case.unit.gaps if name in history.columns)


def drums_in(case: Case, history: History, gaps: tuple[str, ...]) -> tuple[Task, Counter[Drum]]:
    """The drums of a history by what serves some of their gaps together, as choices of a task.

    Raises InputError where a kit cannot heed what the unit asks, or a drum lacks a space.
    """
    task, rows = _posed(case, gaps, history)
    try:
        return task, drums_of(task, rows)
    except TooManyError:
        raise InputError(_told(case, "a gap has too many ways to be filled for a kit")) from None


def _posed(case: Case, gaps: tuple[str, ...], history: History) -> tuple[Task, dict[Spaces, int]]:
    """The unit with every size in plenty and no room at all, and each drum's rooms in steps."""
    for name in gaps:
        case = move_space(case, name).case
    lots = tuple(
        Lot(name, size, spec.nominal, PLENTY)
        for name, family in case.unit.families.items()
        for size, spec in family.sizes.items()
    )
    rows = [
        (tuple(row[history.columns.index(name)] for name in gaps), count)
        for row, count in history.rows.items()
    ]
    known = [(tuple(s for s in row if s is not None), count) for row, count in rows]
    if any(len(row) < len(gaps) for row, _ in known):
        sentence = "a drum without all its spaces; fill every column, or leave the drum out"
        raise InputError(Problem(sentence, history.file))
    spaces = {space for row, _ in known for space in row}
    task = pose(case, lots, gaps, also=spaces | {ZERO})
    if len(gaps) > 1 and any(rule.gap < 0 for rule in task.rules):
        words = next(rule.words for rule in task.rules if rule.gap < 0)
        sentence = f'the rule "{words}" is for all gaps; a kit heeds rules `in` one gap'
        raise InputError(_told(case, sentence))
    found: dict[Spaces, int] = {}
    for row, count in known:
        steps = tuple(int(space.nm / task.step) for space in row)
        found[steps] = found.get(steps, 0) + count
    return task, found


def _offers(case: Case, task: Task) -> tuple[dict[int, Offer], bool]:
    """How each size is sold; raises InputError where some sizes have a price and some have none."""
    families = {place.family for gap in task.gaps for lay in gap.layouts for place in lay.places}
    mine = {nth: part for nth, part in enumerate(task.choices) if part.family in families}
    lacking = [part for part in mine.values() if part.price is None]
    if lacking and len(lacking) < len(mine):
        part = lacking[0]
        raise InputError(_told(case, f"{part.family} {part.size} has no price; others have one"))
    offers = {}
    for nth, part in mine.items():
        sold_in = case.unit.families[part.family].sizes[part.size].sold_in
        offers[nth] = Offer(10_000 if part.price is None else part.price, sold_in)
    return offers, not lacking


def _told(case: Case, sentence: str) -> Problem:
    return Problem(sentence, case.origins["unit"].source.file)
