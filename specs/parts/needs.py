"""How many parts of each family a unit takes, whatever their sizes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.models.layouts import allowed_layouts

if TYPE_CHECKING:
    from collections.abc import Iterable

    from specs.models.case import Case
    from specs.models.stacks import Layout


@dataclass(frozen=True, slots=True)
class Need:
    """How many parts of a family some gaps take, at least and at most."""

    least: int
    most: int


def needs(case: Case, gaps: Iterable[str]) -> dict[str, Need]:
    """What some gaps of a unit take together, by family in the unit file's order.

    A part that gaps share counts once. Layouts that the job's facts rule out are left aside.
    """
    least: Counter[str] = Counter()
    most: Counter[str] = Counter()
    shared: dict[str, bool] = {}
    for name in gaps:
        layouts = [*allowed_layouts(case, name).values()]
        counts = [_taken(layout) for layout in layouts]
        for part in {part for low, high in counts for part in (*low, *high)}:
            lows, highs = [low[part] for low, _ in counts], [high[part] for _, high in counts]
            if part in case.unit.shared_parts:
                shared[part] = shared.get(part, False) or bool(min(lows))
            else:
                least[part] += min(lows)
                most[part] += max(highs)
    for part, always in shared.items():
        family = case.unit.shared_parts[part].family
        least[family] += always
        most[family] += 1
    return {name: Need(least[name], most[name]) for name in case.unit.families if most[name]}


def _taken(layout: Layout) -> tuple[Counter[str], Counter[str]]:
    """What the places of a layout take of each part, at least and at most."""
    low: Counter[str] = Counter()
    high: Counter[str] = Counter()
    for place in layout.stack:
        low[place.part] += place.how_many[0]
        high[place.part] += place.how_many[1]
    return low, high
