"""Poses the task: a case and its stock become plain integers on one grid.

Every length of the job is an exact fraction of a nanometre. They are multiplied by the least
common multiple of their denominators and divided by the greatest common divisor of the results,
so that all of them are whole steps, as few as possible, and no rounding is left to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import gcd, lcm
from typing import TYPE_CHECKING

from solver.task import RATIO, TOP, Choice, Gap, Layout, Place, Rule, Shared, Task
from specs.errors import InputError, Problem
from specs.lengths import ZERO, Length
from specs.parts import Listed, find_size, list_build, now_parts, selective
from specs.readings import fixed_height, space_of, window_of
from specs.unit import EndPlay, Pack

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.case import Case
    from specs.stock import Lot
    from specs.unit import Family, Window
    from specs.unit import Layout as WrittenLayout
    from specs.unit import Place as WrittenPlace
    from specs.unit import Rule as WrittenRule


def pose(case: Case, lots: tuple[Lot, ...], gaps: tuple[str, ...]) -> Task:
    """Put one rebuild into integers, for the gaps whose readings are there.

    Raises InputError where a length is too fine for exact arithmetic in 53 bits.
    """
    return _Posing(case, lots, gaps).task()


def usable_layouts(case: Case, gap_name: str) -> tuple[dict[str, WrittenLayout], list[str]]:
    """The layouts the job's facts allow, and why the others are not."""
    allowed, why = {}, []
    only = case.job.gaps[gap_name].layout if gap_name in case.job.gaps else None
    for name, layout in case.unit.gaps[gap_name].arrangements.items():
        broken = [
            fact for fact, values in layout.only_if.items() if fact_of(case, fact) not in values
        ]
        if broken:
            facts = ", ".join(f"{fact} is {fact_of(case, fact)}" for fact in broken)
            why.append(f"{name}: {facts}" + (f" ({layout.because})" if layout.because else ""))
        elif only in (None, name):
            allowed[name] = layout
    return allowed, why


def fact_of(case: Case, fact: str) -> str | None:
    """What a job states, or the unit file's default."""
    return case.job.facts.get(fact, case.unit.facts[fact].default)


def grades(family: Family) -> dict[str, int]:
    """Number the grades of a steel family from the thinnest, the thickest being 0."""
    ordered = sorted(family.sizes, key=lambda name: (family.sizes[name].nominal, name))
    numbers: dict[str, int] = {}
    for before, name in zip([None, *ordered], ordered, strict=False):
        if before is None:
            numbers[name] = 1
            continue
        one, two = family.sizes[before], family.sizes[name]
        close = two.nominal - one.nominal < family.tolerance or two.nominal == one.nominal
        same = one.grade == two.grade if one.grade else close
        numbers[name] = numbers[before] + (not same)
    top = max(numbers.values(), default=0)
    return {name: number % top if top else 0 for name, number in numbers.items()}


def merged(case: Case, lots: Iterable[Lot]) -> list[tuple[Lot, ...]]:
    """Put together the lots nobody could tell apart, in the order of the tie-break."""
    alike: dict[tuple[object, ...], list[Lot]] = {}
    for lot in lots:
        limit = case.unit.families[lot.family].wear_limit
        if limit is None or lot.thickness >= limit:
            key = (lot.family, lot.size, lot.thickness, lot.condition, lot.own)
            alike.setdefault(key, []).append(lot)

    def rank(group: list[Lot]) -> tuple[object, ...]:
        lot = group[0]
        nominal = case.unit.families[lot.family].sizes[lot.size].nominal
        first = min(lot.lot for lot in group)
        return (lot.family, nominal, lot.thickness, lot.condition, not lot.own, lot.size, first)

    return [
        tuple(sorted(group, key=lambda lot: (lot.bin, lot.lot, lot.count)))
        for group in sorted(alike.values(), key=rank)
    ]


@dataclass
class _Posing:
    """The work of posing one case: first the exact lengths, then the grid, then the task."""

    case: Case
    lots: tuple[Lot, ...]
    names: tuple[str, ...]

    def task(self) -> Task:
        return Task(
            step=self.step,
            choices=self.choices,
            gaps=tuple(map(self._gap, self.names)),
            shared=tuple(map(self._shared, self.case.unit.shared_parts)),
            rules=tuple(self._rules()),
            aims=self.case.job.aims or self.case.unit.aims,
        )

    @cached_property
    def groups(self) -> list[tuple[Lot, ...]]:
        return merged(self.case, self.lots)

    @cached_property
    def step(self) -> Fraction:
        """Nanometres in one step, so that every length of the job is a whole number of steps."""
        lengths = [length.nm for length in self._lengths() if length.nm]
        if not lengths:
            return Fraction(1)
        over = lcm(*(length.denominator for length in lengths))
        step = Fraction(gcd(*(int(length * over) for length in lengths)), over)
        if sum(map(abs, lengths)) / step * RATIO >= TOP:
            sentence = (
                "these lengths have no common step coarse enough for exact arithmetic; round the "
                "finest of them to 0.0001 in or 0.001 mm"
            )
            raise InputError(Problem(sentence, self.case.origins["job"].source.file))
        return step

    def _lengths(self) -> Iterator[Length]:
        case = self.case
        for group in self.groups:
            yield group[0].thickness
            yield case.unit.families[group[0].family].sizes[group[0].size].nominal
        for name in self.names:
            for layout_name, layout in usable_layouts(case, name)[0].items():
                yield space_of(case, name, layout_name).length - fixed_height(case, layout)
                yield space_of(case, name, layout_name).length + fixed_height(case, layout)
                yield from _window_lengths(self._window(name, layout))
                for place in layout.stack:
                    yield from (group[0].thickness * place.factor for group in self.groups)
        for family in case.unit.families.values():
            yield from (size.nominal for size in family.sizes.values())

    def _steps(self, length: Length) -> int:
        steps = length.nm / self.step
        if steps.denominator != 1:
            raise AssertionError(f"{length} is not on the grid")
        return int(steps)

    @cached_property
    def choices(self) -> tuple[Choice, ...]:
        return tuple(map(self._choice, self.groups))

    def _choice(self, group: tuple[Lot, ...]) -> Choice:
        lot = group[0]
        family = self.case.unit.families[lot.family]
        thickest = max(size.nominal for size in family.sizes.values())
        steel = family.kind == "steel"
        return Choice(
            family=lot.family,
            size=lot.size,
            kind=family.kind,
            thickness=self._steps(lot.thickness),
            deficit=self._steps(thickest - family.sizes[lot.size].nominal) if steel else 0,
            grade=grades(family)[lot.size] if steel else 0,
            count=sum(lot.count for lot in group),
            used=lot.condition == "used",
            own=lot.own,
            lots=group,
        )

    def _window(self, name: str, layout: WrittenLayout) -> Window:
        window = window_of(self.case.unit.gaps[name], layout)
        if window is None:
            raise AssertionError("checked when the unit was read")
        return window

    def _gap(self, name: str) -> Gap:
        gap = self.case.unit.gaps[name]
        allowed = usable_layouts(self.case, name)[0]
        ordered = sorted(allowed, key=lambda layout: (allowed[layout].rank or 0, layout))
        return Gap(
            name=name,
            shifts=isinstance(gap, Pack) and gap.works == "shifts",
            nearest=any(self._window(name, layout).nearest for layout in allowed.values()),
            layouts=tuple(self._layout(name, layout, allowed[layout]) for layout in ordered),
        )

    def _layout(self, name: str, layout_name: str, layout: WrittenLayout) -> Layout:
        gap = self.case.unit.gaps[name]
        window = self._window(name, layout)
        sign = -1 if window.on == "height" else 1
        space = space_of(self.case, name, layout_name).length
        aim = aim_of(window)
        places = [
            self._place(name, layout, index, label, sign)
            for index, label in selective(self.case.unit, layout)
        ]
        if gap.first_in == gap.ends[1]:
            places.reverse()
        low, high = window.gap.low, window.gap.high
        return Layout(
            name=layout_name,
            rank=layout.rank or 0,
            room=self._steps(space - fixed_height(self.case, layout) * sign),
            low=None if low is None else self._steps(low),
            high=None if high is None else self._steps(high),
            aim=self._steps(aim),
            width=self._steps(width_of(window)),
            places=tuple(places),
            moved=self._moved(name, layout_name, layout),
        )

    def _place(self, name: str, layout: WrittenLayout, index: int, label: str, sign: int) -> Place:
        place = layout.stack[index]
        shared = [*self.case.unit.shared_parts]
        now = self._now(name)
        if place.part in shared:
            there = self.now_shared.get(place.part)
        else:
            there = None if now is None else tuple(map(self._own, now.parts.get(label, ())))
        family = self._family(place)
        return Place(
            label=label,
            family=family,
            factor=place.factor,
            takes={
                choice: self._steps(self.groups[choice][0].thickness * place.factor * sign)
                for choice in self._allowed(name, place, label, family)
            },
            least=place.how_many[0],
            most=place.how_many[1],
            heat=self._from_cool_end(name, layout, index),
            weight=self._weight(name, place),
            now=there,
            shared=shared.index(place.part) if place.part in shared else -1,
        )

    def _family(self, place: WrittenPlace) -> str:
        shared = self.case.unit.shared_parts.get(place.part)
        return shared.family if shared else place.part

    def _allowed(self, name: str, place: WrittenPlace, label: str, family: str) -> list[int]:
        """The choices a place takes: of its sizes, in its groove, and as kept."""
        spec = self.case.unit.families[family]
        shared = self.case.unit.shared_parts.get(place.part)
        only = [names for names in (place.only, shared.only if shared else ()) if names]
        keep = self._kept(name, label, family)
        allowed = []
        for index, choice in enumerate(self.groups):
            lot = choice[0]
            named = {lot.size, spec.sizes[lot.size].grade} if lot.family == family else set()
            if not named or any(not named & set(names) for names in only):
                continue
            if place.groove and not place.groove.takes.holds(lot.thickness):
                continue
            if keep is None or index in keep:
                allowed.append(index)
        return allowed

    def _kept(self, name: str, label: str, family: str) -> set[int] | None:
        """The choices that are the part somebody wants kept at a place, if anybody does."""
        work = self.case.job.gaps.get(name)
        text = work.keep.get(label) if work else None
        if text is None:
            return None
        if text == "now":
            now = self._now(name)
            return set(map(self._own, now.parts.get(label, ()))) if now else set()
        part = find_size(family, self.case.unit.families[family], text, self.case.length)
        named = part.thickness == self.case.unit.families[family].sizes[part.size].nominal
        return {
            index
            for index, group in enumerate(self.groups)
            if (group[0].family, group[0].size) == (family, part.size)
            and (named or group[0].thickness == part.thickness)
        }

    def _own(self, part: object) -> int:
        """The choice that one of the unit's own parts is; -1 where it is worn out."""
        for index, group in enumerate(self.groups):
            lot = group[0]
            if lot.own and (lot.family, lot.size, lot.thickness) == (
                part.family, part.size, part.thickness,  # type: ignore[attr-defined]
            ):  # fmt: skip
                return index
        return -1

    def _now(self, name: str) -> Listed | None:
        parts = now_parts(self.case.job.gaps.get(name))
        if parts is None:
            return None
        return list_build(self.case.unit, self.case.unit.gaps[name], parts, self.case.length)

    @cached_property
    def now_shared(self) -> dict[str, tuple[int, ...]]:
        """The shared parts whose present choice some gap's build names."""
        found: dict[str, tuple[int, ...]] = {}
        for name in self.names:
            now = self._now(name)
            if now is None:
                continue
            layout = self.case.unit.gaps[name].arrangements[now.layout]
            for index, label in selective(self.case.unit, layout):
                part = layout.stack[index].part
                if part in self.case.unit.shared_parts:
                    found.setdefault(part, tuple(map(self._own, now.parts[label])))
        return found

    def _shared(self, name: str) -> Shared:
        spec = self.case.unit.shared_parts[name]
        there = self.now_shared.get(name)
        return Shared(
            name=name,
            choices=tuple(
                index for index, group in enumerate(self.groups) if group[0].family == spec.family
            ),
            weight=spec.reach.weight if spec.reach else 1,
            now=None if there is None else (there or (-1,))[0],
        )

    def _weight(self, name: str, place: WrittenPlace) -> int:
        shared = self.case.unit.shared_parts.get(place.part)
        if shared:
            return shared.reach.weight if shared.reach else 1
        return (place.reach or self.case.unit.gaps[name].reach).weight

    def _from_cool_end(self, name: str, layout: WrittenLayout, index: int) -> int:
        """Number a steel from the end away from the heat; 0 for other parts."""
        gap = self.case.unit.gaps[name]
        families = [self.case.unit.families[self._family(place)] for place in layout.stack]
        steels = [i for i, family in enumerate(families) if family.kind == "steel"]
        if isinstance(gap, EndPlay) or index not in steels:
            return 0
        if gap.heat_end == gap.ends[0]:
            steels.reverse()
        return steels.index(index) + 1

    def _moved(self, name: str, layout_name: str, layout: WrittenLayout) -> int:
        """What changing from the present layout counts: fixed parts, and places that go."""
        now = self._now(name)
        if now is None or now.layout == layout_name:
            return 0
        gap = self.case.unit.gaps[name]
        before = gap.arrangements[now.layout]
        old, new = (
            dict(zip(before.labels, before.stack, strict=True)),
            {**dict(zip(layout.labels, layout.stack, strict=True))},
        )
        total = 0
        for label, place in old.items():
            if label not in new:
                total += self._weight(name, place) * len(now.parts.get(label, (None,)))
        for label, place in new.items():
            if self._fixed(place) and label not in old:
                total += self._weight(name, place)
        return total

    def _fixed(self, place: WrittenPlace) -> bool:
        return self.case.unit.family_of(place.part).fixed is not None

    def _rules(self) -> Iterator[Rule]:
        whole = len(self.names) == len(self.case.unit.gaps)
        for written in self.case.unit.rules:
            if written.in_ is not None and written.in_ not in self.names:
                continue
            gap = -1 if written.in_ is None else self.names.index(written.in_)
            for kind, bound in _kinds(written):
                if kind in ("must", "at least") and gap < 0 and not whole:
                    continue
                yield Rule(
                    words=rule_words(written),
                    first=self._meant(written.with_ or written.count),
                    second=self._meant(written.must or written.never),
                    kind=kind,  # type: ignore[arg-type]
                    bound=bound,
                    gap=gap,
                    preference=written.preference,
                )

    def _meant(self, text: str | None) -> frozenset[int]:
        family, _, size = (part.strip() for part in (text or "").partition("/"))
        return frozenset(
            index
            for index, group in enumerate(self.groups)
            if group[0].family == family and size in ("", group[0].size)
        )


def aim_of(window: Window) -> Length:
    """The gap a window aims at."""
    if isinstance(window.aim, Length):
        return window.aim
    if window.aim == "middle":
        return window.gap.middle
    end = window.gap.low if window.aim == "tight" else window.gap.high
    if end is None:
        raise AssertionError("checked when the unit was read")
    return end


def width_of(window: Window) -> Length:
    """What deviations are compared with: the scale stated, or the window's width."""
    low, high = window.gap.low, window.gap.high
    if window.scale is not None and (low is None or high is None or low == high):
        return window.scale
    if low is None or high is None:
        raise AssertionError("checked when the unit was read")
    return high - low


def _window_lengths(window: Window) -> Iterator[Length]:
    yield aim_of(window)
    yield width_of(window)
    for end in (window.gap.low, window.gap.high):
        if end is not None:
            yield end


def _kinds(rule: WrittenRule) -> Iterator[tuple[str, int]]:
    if rule.must:
        yield "must", 0
    if rule.never:
        yield "never", 0
    if rule.at_most is not None:
        yield "at most", rule.at_most
    if rule.at_least is not None:
        yield "at least", rule.at_least


def rule_words(rule: WrittenRule) -> str:
    """Say a rule in words, with its reason."""
    if rule.with_:
        verb = f"needs {rule.must}" if rule.must else f"never with {rule.never}"
        words = f"{rule.with_} {verb}"
    else:
        bounds = [f"at most {rule.at_most}"] * (rule.at_most is not None)
        bounds += [f"at least {rule.at_least}"] * (rule.at_least is not None)
        words = f"{' and '.join(bounds)} of {rule.count}"
    place = f" in {rule.in_}" if rule.in_ else ""
    return words + place + (f" ({rule.because})" if rule.because else "")


__all__ = ["ZERO", "aim_of", "fact_of", "grades", "merged", "pose", "usable_layouts", "width_of"]
