"""A build as it lies on the bench: its parts in the order they go in, with lots and bins.

What every face shows, as data: the command line, the page and the sheet all read these lines.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver import judge
from solver.thin import thin_in
from specs.layouts import window_of
from specs.lengths import Length
from specs.readings import fixed_thickness
from specs.unit import Pack

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.task import Build, Task
    from specs.case import Case
    from specs.stock import Lot
    from specs.unit import Layout, Place


@dataclass(frozen=True, slots=True)
class Line:
    """One part of a build."""

    number: int
    """The order in which it goes in, from 1; parts stacked at one place count on."""
    label: str
    family: str
    kind: str
    size: str
    """Empty for a fixed part."""
    grade: str
    """thin or thick for steels that come in grades, or the unit file's own word."""
    thickness: Length
    lot: Lot | None
    facing: str
    out_first: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GapLines:
    """One gap of a build: what it measures, and its parts from the first that goes in."""

    name: str
    is_pack: bool
    layout: str
    """Empty where there is only one."""
    gap: Length
    low: Length | None
    high: Length | None
    aim: Length
    on: str
    first_end: str
    last_end: str
    heat_end: str
    """Empty for an end play."""
    thin: int
    steels: int
    lines: tuple[Line, ...]

    @property
    def tight(self) -> Length | None:
        """What is left toward the lowest gap."""
        return None if self.low is None else self.gap - self.low

    @property
    def loose(self) -> Length | None:
        """What is left toward the highest gap."""
        return None if self.high is None else self.high - self.gap

    @property
    def inside(self) -> bool:
        """Whether the gap lies in its window."""
        return self.holds(self.gap)

    def holds(self, gap: Length) -> bool:
        """Whether the window holds a gap."""
        above = self.low is None or self.low <= gap
        return above and (self.high is None or gap <= self.high)

    @property
    def margin(self) -> Length | None:
        """The lesser of what is left on the two sides."""
        return min((left for left in (self.tight, self.loose) if left is not None), default=None)


def lines_of(case: Case, task: Task, build: Build) -> tuple[GapLines, ...]:
    """Write a build out, gap by gap, each part with the lot it is taken from."""
    stock = _Stock(task)
    return tuple(_gap_lines(case, task, build, index, stock) for index in range(len(build)))


class _Stock:
    """Hands out the lots behind each choice, bin by bin; a shared part only once."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.taken: Counter[int] = Counter()
        self.shared: dict[int, Lot] = {}

    def lot(self, choice: int, shared: int) -> Lot:
        if shared in self.shared:
            return self.shared[shared]
        nth = self.taken[choice]
        self.taken[choice] += 1
        for lot in self.task.choices[choice].lots:
            if nth < lot.count:
                if shared >= 0:
                    self.shared[shared] = lot
                return lot
            nth -= lot.count
        raise AssertionError("the judge counts what is on hand")


def _gap_lines(case: Case, task: Task, build: Build, index: int, stock: _Stock) -> GapLines:
    posed = task.gaps[index]
    gap = case.unit.gaps[posed.name]
    layout_name = posed.layouts[build[index].layout].name
    layout = gap.arrangements[layout_name]
    window = window_of(gap, layout)
    first, last = gap.ends
    backwards = gap.first_in == last
    lines = _numbered(_parts(case, task, build, index, layout, stock), backwards=backwards)
    return GapLines(
        name=posed.name,
        is_pack=isinstance(gap, Pack),
        layout=layout_name if len(gap.layouts) > 1 else "",
        gap=Length(judge.gap_of(task, build, index) * task.step),
        low=window.gap.low,
        high=window.gap.high,
        aim=window.target,
        on=window.on,
        first_end=last if backwards else first,
        last_end=first if backwards else last,
        heat_end=(gap.heat_end or last) if isinstance(gap, Pack) else "",
        thin=thin_in(task, build, index),
        steels=sum(line.kind == "steel" for line in lines),
        lines=lines,
    )


def _parts(
    case: Case, task: Task, build: Build, index: int, layout: Layout, stock: _Stock
) -> list[list[Line]]:
    """The lines of each place, in the order of the stack, not numbered yet."""
    posed = task.gaps[index].layouts[build[index].layout]
    chosen = {
        place.label: [(part, place.shared) for part in parts]
        for place, parts in zip(posed.places, build[index].parts, strict=True)
    }
    order = {place.label: nth for nth, place in enumerate(posed.places)}
    drawn = {
        label: [(part, stock.lot(part, shared)) for part, shared in chosen[label]]
        for label in sorted(chosen, key=order.__getitem__)
    }
    return [
        list(_lines_at(case, task, place, label, drawn.get(label)))
        for place, label in zip(layout.stack, layout.labels, strict=True)
    ]


def _lines_at(
    case: Case, task: Task, place: Place, label: str, drawn: list[tuple[int, Lot]] | None
) -> Iterator[Line]:
    shared = case.unit.shared_parts.get(place.part)
    family = case.unit.family_of(place.part)
    name = case.unit.family_name(place.part)
    facing = place.facing or (shared.facing if shared else None) or ""
    if place.lining_faces:
        facing = f"lining to the {place.lining_faces}" + (f", {facing}" if facing else "")
    reach = place.reach or (shared.reach if shared else None)
    out_first = reach.out_first if reach else ()
    if drawn is None:
        thickness = fixed_thickness(case, place.part)
        if thickness is None:
            raise AssertionError("every place is fixed or chosen")
        yield Line(0, label, name, family.kind, "", "", thickness, None, facing, out_first)
        return
    for part, lot in drawn:
        grade = _grade(case, task, part)
        yield Line(
            0, label, name, family.kind, lot.size, grade, lot.thickness, lot, facing, out_first
        )


def _grade(case: Case, task: Task, part: int) -> str:
    choice = task.choices[part]
    family = case.unit.families[choice.family]
    written = family.sizes[choice.size].grade
    if family.kind != "steel" or len({size.nominal for size in family.sizes.values()}) < 2:  # noqa: PLR2004
        return ""
    return written or ("thin" if choice.grade else "thick")


def _numbered(places: list[list[Line]], *, backwards: bool) -> tuple[Line, ...]:
    if backwards:
        places = [place[::-1] for place in reversed(places)]
    lines = [line for place in places for line in place]
    return tuple(
        Line(
            nth, line.label, line.family, line.kind, line.size, line.grade, line.thickness,
            line.lot, line.facing, line.out_first,
        )
        for nth, line in enumerate(lines, 1)
    )  # fmt: skip
