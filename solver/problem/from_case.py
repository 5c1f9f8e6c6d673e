"""Poses the instance: a case and its stock become plain integers on one grid.

The grid of a job: the coarsest step of which all its lengths are whole multiples.

Lengths are exact fractions of a nanometre. They are multiplied by the least common multiple of
their denominators and divided by the greatest common divisor of the results, so that no rounding
is left to do.

From lots to choices: lots nobody could tell apart are one, and steels fall into grades. The unit
file's rules become rules over choices.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm
from typing import TYPE_CHECKING

from solver.problem.gaps import RATIO, TOP, Barred, GridGap, GridLayout, GridPlace, Guard, LotChoice
from solver.problem.installed import GONE, Present
from solver.problem.instance import ChoiceRule, Instance
from solver.problem.shared_parts import SharedPart
from specs.errors import InputError
from specs.gaps.guard_band import guard_band
from specs.gaps.job_gap import JobGap
from specs.models.gaps import Pack
from specs.models.sets_left import barred
from specs.parts.lookup import find_size, selective
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from solver.problem.instance import RuleKind
    from specs.models.case import Case
    from specs.models.families import Family
    from specs.models.gaps import Arrangement
    from specs.models.lot import Lot
    from specs.models.stacks import Place as WrittenPlace
    from specs.models.unit import Rule as Written
    from specs.models.unit import Unit
    from specs.values.lengths import Length

    Rooms = dict[tuple[str, str], Length]


def merged(unit: Unit, lots: Iterable[Lot]) -> list[tuple[Lot, ...]]:
    """Put together lots of equal size, thickness, doubt and standing, as the tie-break sorts them.

    Worn lots are left out.
    """
    alike: dict[tuple[object, ...], list[Lot]] = {}
    for lot in lots:
        if not unit.families[lot.family].worn(lot.size, lot.thickness):
            known = (not lot.measured, lot.gauge, lot.within)
            tried = lot.tried and not lot.own
            key = (lot.family, lot.size, lot.thickness, lot.condition, lot.own, tried, known)
            alike.setdefault(key, []).append(lot)

    def rank(group: list[Lot]) -> tuple[object, ...]:
        lot = group[0]
        nominal = unit.families[lot.family].sizes[lot.size].nominal
        first = min(lot.lot for lot in group)
        known = (not lot.measured, lot.gauge, lot.within)
        return (
            lot.family, nominal, lot.thickness, not lot.own, not lot.tried, lot.condition,
            lot.size, known, first,
        )  # fmt: skip

    return [
        tuple(sorted(group, key=lambda lot: (lot.bin, lot.lot, lot.count)))
        for group in sorted(alike.values(), key=rank)
    ]


def grades(family: Family) -> dict[str, int]:
    """Number the grades of a steel family from the thinnest, the thickest being 0.

    Without grades in the unit file each nominal is a grade, nominals closer to the next than
    the family's tolerance being one.
    """
    ordered = sorted(family.sizes, key=lambda name: (family.sizes[name].nominal, name))
    numbers: dict[str, int] = {}
    for before, name in zip(["", *ordered], ordered, strict=False):
        if not before:
            numbers[name] = 1
            continue
        one, two = family.sizes[before], family.sizes[name]
        apart = two.nominal - one.nominal
        same = one.grade == two.grade if one.grade else not apart or apart < family.stated_tolerance
        numbers[name] = numbers[before] + (not same)
    top = max(numbers.values(), default=1)
    return {name: number % top for name, number in numbers.items()}


class TooFineError(ValueError):
    """The lengths have no common step coarse enough for exact arithmetic in 53 bits."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Nanometres in one step."""

    step: Fraction

    def steps(self, length: Length) -> int:
        """A length in whole steps. Raises ValueError for a length that was not in the job."""
        steps = length.nm / self.step
        if steps.denominator != 1:
            raise ValueError(f"{length} is not on the grid")
        return int(steps)


def grid_of(lengths: Iterable[Length]) -> Grid:
    """Find the grid of some lengths. Raises TooFineError where sums could pass 2^53."""
    nonzero = [length.nm for length in lengths if length.nm]
    if not nonzero:
        return Grid(Fraction(1))
    over = lcm(*(length.denominator for length in nonzero))
    step = Fraction(gcd(*(int(length * over) for length in nonzero)), over)
    if sum(map(abs, nonzero)) / step * RATIO >= TOP:
        raise TooFineError
    return Grid(step)


def instance_of(
    case: Case,
    lots: tuple[Lot, ...],
    gaps: tuple[str, ...],
    *,
    larger: Mapping[str, Length] | None = None,
    also: Iterable[Length] = (),
) -> Instance:
    """Put one rebuild into integers, for the gaps whose readings are there.

    Parameters
    ----------
    case
        The unit, shelf and job as read.
    lots
        What the job may draw on, its own parts and the catalogue among it where it may.
    gaps
        The names of the gaps to build.
    larger
        By how much the spaces of some gaps were found larger than their readings make them.
    also
        Lengths that are to be whole steps of the grid too.

    Raises
    ------
    InputError
        Where a length is too fine for exact arithmetic in 53 bits.
    """
    groups = merged(case.unit, lots)
    rooms = _rooms(case, gaps)
    try:
        grid = grid_of((*_lengths(case, groups, rooms), *(larger or {}).values(), *also))
    except TooFineError:
        sentence = (
            "these lengths have no common step coarse enough for exact arithmetic; round the "
            "finest of them to 0.0001 in or 0.001 mm"
        )
        raise InputError(case.origins["job"].problem((), sentence)) from None
    for name, more in (larger or {}).items():
        rooms |= {key: room + more for key, room in rooms.items() if key[0] == name}
    posing = _Posing(case, groups, gaps, grid, rooms)
    return Instance(
        step=grid.step,
        choices=tuple(map(posing.choice, groups)),
        gaps=tuple(map(posing.gap, gaps)),
        shared=tuple(map(posing.shared, case.unit.shared_parts)),
        rules=tuple(_rules_of(case.unit, groups, gaps)),
        aims=case.aims,
    )


def _rooms(case: Case, gaps: tuple[str, ...]) -> Rooms:
    """Return the room of every layout that is read for: its space less what fixed parts take."""
    rooms = {}
    for name in gaps:
        gap = JobGap(case, name)
        for layout_name, layout in gap.written.arrangements.items():
            if not any(gap.missing_in(layout)):  # else ruled out by a fact
                taken = case.fixed_height(layout) * layout.sign
                rooms[name, layout_name] = gap.space(layout_name).length - taken
    return rooms


def _lengths(case: Case, groups: list[tuple[Lot, ...]], rooms: Rooms) -> Iterator[Length]:
    """Every length the instance will hold, before it has a grid."""
    for lot, *_ in groups:
        yield lot.thickness
    for family in case.unit.families.values():
        yield from (size.nominal for size in family.sizes.values())
    for (name, layout_name), room in rooms.items():
        layout = case.unit.gaps[name].arrangements[layout_name]
        yield room
        window = layout.window
        yield from (window.target, window.width)
        yield from (end for end in (layout.lowest, window.gap.high) if end is not None)
        for index, _ in selective(case.unit, layout):
            place = layout.stack[index]
            family_name = case.unit.family_name(place.part)
            yield from (
                lot.thickness * place.factor for lot, *_ in groups if lot.family == family_name
            )


class _Posing:
    """Puts the parts of a case on a grid that is known."""

    def __init__(
        self,
        case: Case,
        groups: list[tuple[Lot, ...]],
        gaps: tuple[str, ...],
        grid: Grid,
        rooms: Rooms,
    ) -> None:
        self.case = case
        self.groups = groups
        self.step, self.steps = grid.step, grid.steps
        self.rooms = rooms
        self.present = Present(case, groups, gaps)
        self.strange = barred(case)

    def choice(self, group: tuple[Lot, ...]) -> LotChoice:
        lot = group[0]
        family = self.case.unit.families[lot.family]
        size = family.sizes[lot.size]
        steel = family.kind == "steel"
        thickest = max(size.nominal for size in family.sizes.values()) if steel else ZERO
        return LotChoice(
            family=lot.family,
            size=lot.size,
            kind=family.kind,
            thickness=self.steps(lot.thickness),
            deficit=self.steps(thickest - size.nominal) if steel else 0,
            grade=grades(family)[lot.size] if steel else 0,
            count=sum(lot.count for lot in group),
            used=lot.condition == "used",
            own=lot.own,
            sold=lot.condition == "new" and not lot.measured,
            price=None if size.price is None else int(size.price * 10_000),
            pack=size.sold_in,
            lots=group,
        )

    def gap(self, name: str) -> GridGap:
        gap = self.case.unit.gaps[name]
        layouts = JobGap(self.case, name).layouts
        return GridGap(
            name=name,
            shifts=isinstance(gap, Pack) and gap.works == "shifts",
            layouts=tuple(self.layout(name, *item) for item in layouts.items()),
            barred=tuple(
                Barred(self.layout(name, aside, gap.arrangements[aside]), why)
                for aside, why in JobGap(self.case, name).aside.items()
                if (name, aside) in self.rooms
            ),
        )

    def layout(self, name: str, layout_name: str, layout: Arrangement) -> GridLayout:
        gap = self.case.unit.gaps[name]
        window = layout.window
        places = [
            self.place(name, layout, index, label)
            for index, label in selective(self.case.unit, layout)
        ]
        low, high = layout.lowest, window.gap.high
        return GridLayout(
            name=layout_name,
            rank=layout.rank,
            room=self.steps(self.rooms[name, layout_name]),
            low=None if low is None else self.steps(low),
            high=None if high is None else self.steps(high),
            aim=self.steps(window.target),
            width=self.steps(window.width),
            nearest=window.nearest,
            places=tuple(reversed(places) if gap.first_in == gap.ends[1] else places),
            moved=self.present.moved(name, layout),
            guard=self._guard(name, layout_name, layout),
        )

    def _guard(self, name: str, layout_name: str, layout: Arrangement) -> Guard | None:
        band = guard_band(self.case, name, layout_name)
        if band is None:
            return None
        window = layout.window
        low, high = window.gap.low, window.gap.high
        low_open = low is None and layout.of_pack and window.on == "gap"
        if low_open and high is not None:
            low = high - window.width  # a clearance is no better for being near nothing
        return Guard(
            band=band.nm / self.step,
            low_open=low_open,
            low=None if low is None else self.steps(low),
            high=None if high is None else self.steps(high),
        )

    def place(self, name: str, layout: Arrangement, index: int, label: str) -> GridPlace:
        place = layout.stack[index]
        shared = [*self.case.unit.shared_parts]
        factor = place.factor * layout.sign
        kept = self._kept(name, place, label)
        least, most = self._how_many(name, place, label)
        takes = {
            choice: self.steps(self.groups[choice][0].thickness * factor)
            for choice in self._allowed(place)
        }
        return GridPlace(
            label=label,
            family=self.case.unit.family_name(place.part),
            factor=place.factor,
            takes={choice: takes[choice] for choice in takes if kept is None or choice in kept},
            let_go={
                choice: takes[choice] for choice in takes if kept is not None and choice not in kept
            },
            least=least,
            most=most,
            heat=self._from_cool_end(name, layout, index),
            weight=self.present.weight(name, place),
            now=self.present.at(name, place, label),
            shared=shared.index(place.part) if place.part in shared else -1,
        )

    def _how_many(self, name: str, place: WrittenPlace, label: str) -> tuple[int, int]:
        """How many parts a place takes; where stacked parts are kept, as many as now."""
        work = self.case.job.gaps.get(name)
        now = self.present.at(name, place, label)
        keeps = work is not None and work.keep.get(label) == "now"
        if now is None or not keeps or place.how_many == (1, 1):
            return place.how_many
        return len(now), len(now)

    def _allowed(self, place: WrittenPlace) -> list[int]:
        """The choices a place takes: of its sizes, and in its groove."""
        family_name = self.case.unit.family_name(place.part)
        family = self.case.unit.families[family_name]
        shared = self.case.unit.shared_parts.get(place.part)
        only = [set(names) for names in (place.only, shared.only if shared else ()) if names]
        return [
            index
            for index, (lot, *_) in enumerate(self.groups)
            if lot.family == family_name
            and all({lot.size, family.sizes[lot.size].grade} & names for names in only)
            and (family_name, lot.size) not in self.strange
            and (place.groove is None or place.groove.takes.holds(lot.thickness))
        ]

    def _kept(self, name: str, place: WrittenPlace, label: str) -> set[int] | None:
        """The choices that are the part to be kept at a place; None where any part will do."""
        text = JobGap(self.case, name).kept.get(label)
        if text is None:
            return None
        if text == "now":
            return set(self.present.at(name, place, label) or ()) - {GONE}
        family_name = self.case.unit.family_name(place.part)
        family = self.case.unit.families[family_name]
        part = find_size(family_name, family, text, self.case.length)
        as_sold = part.thickness == family.sizes[part.size].nominal
        return {
            index
            for index, (lot, *_) in enumerate(self.groups)
            if (lot.family, lot.size) == (family_name, part.size)
            and (as_sold or lot.thickness == part.thickness)
        }

    def _from_cool_end(self, name: str, layout: Arrangement, index: int) -> int:
        """Number a steel from the end away from the heat; 0 for other parts."""
        gap = self.case.unit.gaps[name]
        steels = [
            nth
            for nth, place in enumerate(layout.stack)
            if self.case.unit.family_of(place.part).kind == "steel"
        ]
        if not isinstance(gap, Pack) or index not in steels:
            return 0
        if gap.heat_end == gap.ends[0]:
            steels.reverse()
        return steels.index(index) + 1

    def shared(self, name: str) -> SharedPart:
        weight = self.case.unit.shared_weight(name)
        return SharedPart(name, weight, self.present.shared.get(name))


def _rules_of(
    unit: Unit, groups: list[tuple[Lot, ...]], gaps: tuple[str, ...]
) -> Iterator[ChoiceRule]:
    """The rules that can be judged on the gaps being built.

    While some gaps wait, a rule over the whole job that asks for a part is left for later: the
    part may lie in a gap that waits.
    """
    waiting = len(gaps) < len(unit.gaps)
    for written in unit.rules:
        if written.in_ is not None and written.in_ not in gaps:
            continue
        gap = -1 if written.in_ is None else gaps.index(written.in_)
        for kind, bound in _kinds(written):
            if waiting and gap < 0 and kind in ("must", "at least"):
                continue
            yield ChoiceRule(
                words=_rule_words(written),
                first=_meant(groups, written.with_ or written.count),
                second=_meant(groups, written.must or written.never),
                kind=kind,
                bound=bound,
                gap=gap,
                preference=written.preference,
            )


def _kinds(rule: Written) -> Iterator[tuple[RuleKind, int]]:
    if rule.must:
        yield "must", 0
    if rule.never:
        yield "never", 0
    if rule.at_most is not None:
        yield "at most", rule.at_most
    if rule.at_least is not None:
        yield "at least", rule.at_least


def _meant(groups: list[tuple[Lot, ...]], text: str | None) -> frozenset[int]:
    family, _, size = (part.strip() for part in (text or "").partition("/"))
    return frozenset(
        index
        for index, group in enumerate(groups)
        if group[0].family == family and size in ("", group[0].size)
    )


def _rule_words(rule: Written) -> str:
    """Say a rule in words, with its reason."""
    if rule.with_:
        words = f"{rule.with_} needs {rule.must}" if rule.must else ""
        words = words or f"{rule.with_} never with {rule.never}"
    else:
        bounds = [f"at most {rule.at_most}"] * (rule.at_most is not None)
        bounds += [f"at least {rule.at_least}"] * (rule.at_least is not None)
        words = f"{' and '.join(bounds)} of {rule.count}"
    place = f" in {rule.in_}" if rule.in_ else ""
    return words + place + (f" ({rule.because})" if rule.because else "")
