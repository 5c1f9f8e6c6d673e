"""The assembly of a build: its parts in the order they go in, with their lots and bins.

The command line, the page and the sheet all read this data.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.problem import judge
from solver.rebuild.thin_steels import thin_in
from specs.models.unit import Pack
from specs.values.fields import Span
from specs.values.lengths import ZERO, Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.problem.gaps import GridPlace
    from solver.problem.instance import Build, Instance
    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.lot import Lot
    from specs.models.unit import Place


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyStep:
    """One part of a build, at its place in the order of assembly."""

    number: int = 0
    """The order in which it goes in, from 1; parts stacked at one place count on."""
    label: str
    shared: str = ""
    """The shared part it is; empty for others."""
    family: str
    also_called: str
    """The maker's own word."""
    kind: str
    size: str = ""
    """Empty for a fixed part."""
    grade: str = ""
    """thin or thick for steels that come in grades, or the unit file's own word."""
    thickness: Length
    lot: Lot | None = None
    stays: bool = False
    """Whether it is at this place already."""
    facing: str
    out_first: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A part at a place, with the lot it comes from."""

    part: int
    lot: Lot
    place: GridPlace


@dataclass(frozen=True, slots=True)
class GapAssembly:
    """One gap of a build: its measure and window, and its parts from the first that goes in."""

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
    out_first: tuple[str, ...]
    """What must come out to reach its parts."""
    steps: tuple[AssemblyStep, ...]

    @property
    def tight(self) -> Length | None:
        """The distance from the gap down to the lowest that its window allows; None without one."""
        return None if self.low is None else self.gap - self.low

    @property
    def loose(self) -> Length | None:
        """The distance from the gap up to the highest that its window allows; None without one."""
        return None if self.high is None else self.high - self.gap

    @property
    def inside(self) -> bool:
        """Whether the gap lies in its window."""
        return self.holds(self.gap)

    def holds(self, gap: Length) -> bool:
        """Tell whether a gap of this length lies in the window."""
        return Span(self.low, self.high).holds(gap)

    @property
    def margin(self) -> Length | None:
        """The distance from the gap to the nearer limit of its window."""
        return min((left for left in (self.tight, self.loose) if left is not None), default=None)


def assemblies_of(case: Case, instance: Instance, build: Build) -> tuple[GapAssembly, ...]:
    """Return the assembly of each gap of a build, each part with the lot it comes from.

    Parameters
    ----------
    case
        The job's files as read.
    instance
        The instance that was solved, with the lots behind each choice.
    build
        One build for each gap of the instance, in the same order.
    """
    stock = _Stock(instance)
    return tuple(_gap_assembly(case, instance, build, index, stock) for index in range(len(build)))


def fetched(gaps: tuple[GapAssembly, ...]) -> Iterator[tuple[AssemblyStep, Lot]]:
    """Yield each chosen part of a build with its lot; a part that gaps share comes once."""
    seen = {""}
    for step in (step for gap in gaps for step in gap.steps):
        if step.lot is not None and not (step.shared and step.shared in seen):
            seen.add(step.shared)
            yield step, step.lot


class _Stock:
    """The lots behind each choice, handed out bin by bin; a shared part is handed out once."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.taken: Counter[int] = Counter()
        self.shared: dict[int, Lot] = {}

    def lot(self, choice: int, shared: int) -> Lot:
        if shared in self.shared:
            return self.shared[shared]
        nth = self.taken[choice]
        self.taken[choice] += 1
        for lot in self.instance.choices[choice].lots:
            if nth < lot.count:
                if shared >= 0:
                    self.shared[shared] = lot
                return lot
            nth -= lot.count
        raise AssertionError("the judge counts what is on hand")


def _gap_assembly(
    case: Case, instance: Instance, build: Build, index: int, stock: _Stock
) -> GapAssembly:
    posed = instance.gaps[index]
    gap = case.unit.gaps[posed.name]
    layout_name = posed.layouts[build[index].layout].name
    layout = gap.arrangements[layout_name]
    window = layout.window
    first, last = gap.ends
    backwards = gap.first_in == last
    steps = _numbered(_parts(case, instance, build, index, layout, stock), backwards=backwards)
    return GapAssembly(
        name=posed.name,
        is_pack=isinstance(gap, Pack),
        layout=layout_name if len(gap.layouts) > 1 else "",
        gap=Length(judge.gap_of(instance, build, index) * instance.step),
        low=layout.lowest,
        high=window.gap.high,
        aim=window.target,
        on=window.on,
        first_end=last if backwards else first,
        last_end=first if backwards else last,
        heat_end=(gap.heat_end or last) if isinstance(gap, Pack) else "",
        thin=thin_in(instance, build, index),
        steels=sum(step.kind == "steel" for step in steps),
        out_first=gap.reach.out_first,
        steps=steps,
    )


def _parts(
    case: Case, instance: Instance, build: Build, index: int, layout: Arrangement, stock: _Stock
) -> list[list[AssemblyStep]]:
    """Return the steps of each place in the order of the stack, not numbered yet."""
    posed = instance.gaps[index].layouts[build[index].layout]
    filled = {
        place.label: [_Drawn(part, stock.lot(part, place.shared), place) for part in parts]
        for place, parts in zip(posed.places, build[index].parts, strict=True)
    }
    return [
        list(_steps_at(case, instance, place, label, filled.get(label)))
        for place, label in zip(layout.stack, layout.labels, strict=True)
    ]


def _steps_at(
    case: Case, instance: Instance, place: Place, label: str, filled: list[_Drawn] | None
) -> Iterator[AssemblyStep]:
    family = case.unit.family_of(place.part)
    shared = case.unit.shared_parts.get(place.part)
    facing = place.facing or (shared.facing if shared else None) or ""
    if place.lining_faces:
        facing = f"lining to the {place.lining_faces}" + (f", {facing}" if facing else "")
    reach = place.reach or (shared.reach if shared else None)
    step = AssemblyStep(
        label=label,
        shared=place.part if shared else "",
        family=case.unit.family_name(place.part),
        also_called=family.also_called or "",
        kind=family.kind,
        thickness=case.fixed_thickness(place.part) or ZERO,
        facing=facing,
        out_first=reach.out_first if reach else (),
    )
    if filled is None:
        yield step
        return
    for drawn in filled:
        yield replace(
            step,
            size=drawn.lot.size,
            grade=_grade(case, instance, drawn.part),
            thickness=drawn.lot.thickness,
            lot=drawn.lot,
            stays=drawn.part in (drawn.place.now or ()),
        )


def _grade(case: Case, instance: Instance, part: int) -> str:
    choice = instance.choices[part]
    family = case.unit.families[choice.family]
    written = family.sizes[choice.size].grade
    if family.kind != "steel" or len({size.nominal for size in family.sizes.values()}) < 2:  # noqa: PLR2004
        return ""
    return written or ("thin" if choice.grade else "thick")


def _numbered(places: list[list[AssemblyStep]], *, backwards: bool) -> tuple[AssemblyStep, ...]:
    if backwards:
        places = [place[::-1] for place in reversed(places)]
    steps = [step for place in places for step in place]
    return tuple(replace(step, number=number) for number, step in enumerate(steps, 1))
