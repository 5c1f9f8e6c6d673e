"""The files of a job as the brute force reads them: parts on hand, layouts, spaces.

Worked out from unit, shelf and job as written, without the solver. Parts nobody could tell apart
are one kind; their thicknesses are exact nanometres. The lengths of a layout are multiplied by one
number that makes all of them whole, so that trying every assignment adds integers only. A space
is worked out once more from the text of its sum:

    space = sum of readings, lengths and the trial stack, each with its sign and factor

which serves the sums that random jobs are written with: plain terms and `name/number`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil, isqrt, lcm
from typing import TYPE_CHECKING, Any

from specs.models.case import Case
from specs.models.gaps import Pack
from specs.parts.lookup import ListedBuild, NamedPart, find_size, list_build, selective
from specs.values.lengths import Length, parse_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.families import Family
    from specs.models.gaps import Arrangement, EndPlay, Gap
    from specs.models.job import Parts as ListedParts
    from specs.models.stacks import Place, Window
    from specs.values.fields import Span

Old = Counter[Any]
"""What lies at a place now, by what tells parts apart."""
Space = Callable[[Case, str, str], Fraction]
"""The space of a gap in a layout."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place whose part is chosen: what may lie there and what each takes from the gap."""

    label: str
    takes: dict[int, int]
    how_many: tuple[int, int]
    heat: int
    weight: int
    shared: str
    old: Old | None
    """What lies there now, by what tells parts apart; None where the job does not say."""


@dataclass(frozen=True, slots=True)
class Stack:
    """A layout with the window that applies to it."""

    name: str
    rank: int
    room: int
    low: int | None
    high: int | None
    aim: int
    width: int
    nearest: bool
    slots: tuple[Slot, ...]
    moved: int
    """What changes at places whose part is not chosen here."""
    band: Fraction | None = None
    """How far its gap is to keep from the ends below; None where nothing is chosen in the gap."""
    safe_low: int | None = None
    safe_high: int | None = None

    def lacking(self, gap: int) -> int:
        """What a gap lacks of its band, in ten-thousandths of the width, rounded up."""
        if self.band is None:
            return 0
        inside = [gap - low for low in [self.safe_low] if low is not None]
        inside += [high - gap for high in [self.safe_high] if high is not None]
        short = 10_000 * (self.band - min(inside)) / self.width
        return max(0, -(-short.numerator // short.denominator))

    def miss(self, gap: int) -> int:
        """How far a gap lies outside the window."""
        under = 0 if self.low is None else self.low - gap
        over = 0 if self.high is None else gap - self.high
        return max(0, under, over)


def differ(new: Old, old: Old) -> int:
    """How many parts go in or come out, whichever is more."""
    return max((new - old).total(), (old - new).total())


Part = tuple[str, str, Fraction]
"""A family, a size and a thickness."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Parts of one size, thickness and standing, with all there are of them."""

    family: str
    size: str
    thickness: Fraction
    condition: str
    own: bool
    tried: bool
    """Whether it is the shelf's and lies in a trial build."""
    count: int
    grade: int
    """1 for the thinnest grade of a steel; 0 for the thickest grade and for other parts."""
    deficit: Fraction
    """How much thinner its nominal is than its family's thickest; 0 for what is no steel."""

    @property
    def told(self) -> Told:
        """All that tells it from others."""
        return self.family, self.size, self.thickness, self.condition, self.own, self.tried


Told = tuple[str, str, Fraction, str, bool, bool]


def kinds_of(case: Case, gaps: tuple[str, ...]) -> tuple[Kind, ...]:
    """What is on hand and not worn out, in the order of the tie-break."""
    total: Counter[Told] = Counter()
    lots: dict[Told, list[str]] = {}
    own, tried = own_parts(case, gaps)
    for told, lot, count in _on_shelf(case, tried):
        total[told] += count
        lots.setdefault(told, []).append(lot)
    for part, count in (own + tried).items():  # what is left of the tried is not on the shelf
        total[*part, "used", True, False] = count
        lots[*part, "used", True, False] = [""]

    def rank(told: Told) -> tuple[object, ...]:
        family, size, thickness, condition, own, tried = told
        nominal = case.unit.families[family].sizes[size].nominal
        drum = not own, not tried
        return family, nominal, thickness, *drum, condition, size, min(lots[told])

    usable = [told for told, n in total.items() if n and not _worn(case, *told[:3])]
    return tuple(_kind(case, told, total[told]) for told in sorted(usable, key=rank))


def _kind(case: Case, told: Told, count: int) -> Kind:
    family = case.unit.families[told[0]]
    if family.kind != "steel":
        return Kind(*told, count, 0, told[2] * 0)
    thickest = max(size.nominal.nm for size in family.sizes.values())
    deficit = thickest - family.sizes[told[1]].nominal.nm
    return Kind(*told, count, grades_of(family)[told[1]], deficit)


def _on_shelf(case: Case, tried: Counter[Part]) -> Iterator[tuple[Told, str, int]]:
    """What the shelf has, one row for each lot; what lies in a trial build apart from the rest.

    What is found of the tried is taken out of their count.
    """
    rows: list[list[Any]] = []
    for family, sizes in case.shelf.items():
        for text, lots in sizes.items():
            size = find_size(family, case.unit.families[family], text, case.shelf_length)
            for lot in lots:
                part = (family, size.size, (lot.thickness or size.thickness).nm)
                free = lot.count - lot.spoken_for
                named = size.thickness == case.unit.families[family].sizes[size.size].nominal
                as_sold = lot.thickness is None and named
                rows.append([part, as_sold, lot.condition, lot.lot or "", free])
    for as_measured in (False, True):
        for part in list(tried):
            nominal = case.unit.families[part[0]].sizes[part[1]].nominal.nm
            if (part[2] != nominal) == as_measured:
                yield from _taken(rows, tried, part)
    for part, _, condition, label, count in rows:
        yield (*part, condition, False, False), label, count


def _taken(
    rows: list[list[Any]], tried: Counter[Part], part: Part
) -> Iterator[tuple[Told, str, int]]:
    """Take a tried part off the shelf: from lots that measure as much, then from those as sold."""
    for exact in (True, False):
        for row in rows:
            same = row[0] == part if exact else row[1] and row[0][:2] == part[:2]
            while same and row[4] and tried[part]:
                row[4] -= 1
                tried[part] -= 1
                yield (*part, row[2], False, True), row[3], 1


def _worn(case: Case, family: str, size: str, thickness: Fraction) -> bool:
    """Whether a part lost more than its unit file allows of a part of its size."""
    least = least_of(case.unit.families[family], size)
    return least is not None and thickness < least


def fixed_in(case: Case, part: str) -> Length:
    """How thick a part that is not chosen goes in: as it measured, or new where that is worn."""
    family = case.unit.family_of(part)
    assert family.fixed is not None
    found = case.job.parts.get(part, family.fixed)
    return family.fixed if _worn_fixed(family, found) else found


def _worn_fixed(family: Family, found: Length) -> bool:
    """Whether a part that is not chosen measured worn; a new one goes in then."""
    assert family.fixed is not None
    limits = [family.wear_limit] if family.wear_limit else []
    if family.wears_by:
        limits.append(family.fixed - (family.tolerance or Length(0)) - family.wears_by)
    return any(found < limit for limit in limits)


def least_of(family: Family, size: str) -> Fraction | None:
    """How thin a part of a size may be: by its own limit, what it may lose, or its family's."""
    spec = family.sizes[size]
    own = spec.wear_limit is not None or spec.wears_by is not None
    limit, loses = (spec.wear_limit, spec.wears_by) if own else (family.wear_limit, family.wears_by)
    thinnest = (spec.thickness.low or spec.nominal).nm
    if loses is not None:
        worn = thinnest - (family.tolerance or Length(0)).nm - loses.nm
        return worn if limit is None else max(worn, limit.nm)
    if limit is None or own:
        return None if limit is None else limit.nm
    others = [
        (other.thickness.low or other.nominal).nm
        for other in family.sizes.values()
        if other.wear_limit is None and other.wears_by is None
    ]
    return thinnest - (min(others) - limit.nm)  # the thinnest loses as much


def grades_of(family: Family) -> dict[str, int]:
    """Number a steel family's grades from the thinnest; the thickest grade is 0."""
    sizes = sorted(family.sizes, key=lambda name: (family.sizes[name].nominal, name))
    grades: list[list[str]] = []
    for name in sizes:
        size = family.sizes[name]
        last = family.sizes[grades[-1][-1]] if grades else None
        if last is None:
            grades.append([name])
        elif size.grade is not None:
            grades[-1:] = (
                [[*grades[-1], name]] if size.grade == last.grade else [grades[-1], [name]]
            )
        else:
            apart = size.nominal - last.nominal
            one = not apart or apart < (family.tolerance or Length(0))
            grades[-1:] = [[*grades[-1], name]] if one else [grades[-1], [name]]
    numbered = {name: 1 + nth for nth, names in enumerate(grades) for name in names}
    return {name: 0 if number == len(grades) else number for name, number in numbered.items()}


# The parts of this very unit.


def trial_of(case: Case, gap: str) -> ListedParts | None:
    """The trial build a job lists."""
    work = case.job.gaps.get(gap)
    return work.trial if work else None


def now_of(case: Case, gap: str) -> ListedParts | None:
    """The build now in the unit, where the job lists it."""
    work = case.job.gaps.get(gap)
    if work is None or work.now is None:
        return None
    return work.trial if work.now.parts == "trial" else work.now


def listed(case: Case, gap: str, parts: ListedParts | None) -> ListedBuild | None:
    """Which parts a listed build is made of; nothing where it is not listed part by part."""
    if parts is not None and parts.parts == "old":
        parts = now_of(case, gap)
    if parts is None or isinstance(parts.parts, str):
        return None
    return list_build(case.unit, case.unit.gaps[gap], parts, case.length)


def going_in(case: Case, gap: str) -> dict[str, NamedPart]:
    """The parts measured before they go in, by the label of their place."""
    work = case.job.gaps.get(gap)
    if work is None or work.going_in is None:
        return {}
    assert not isinstance(work.going_in, str)
    layouts = case.unit.gaps[gap].arrangements
    layout = layouts[work.layout] if work.layout else next(iter(layouts.values()))
    chosen = [
        (label, case.unit.family_name(place.part))
        for label, place in zip(layout.labels, layout.stack, strict=True)
        if case.unit.family_of(place.part).fixed is None
    ]
    return {
        label: find_size(family, case.unit.families[family], text, case.length)
        for (label, family), (text,) in zip(chosen, work.going_in, strict=True)
        if text != "to choose"
    }


def own_parts(case: Case, gaps: tuple[str, ...]) -> tuple[Counter[Part], Counter[Part]]:
    """The unit's own parts in the drum, and the others of trial builds, each there once.

    What is always replaced is neither.
    """
    own: Counter[Part] = Counter()
    tried: Counter[Part] = Counter()
    joint: tuple[dict[str, set[Part]], dict[str, set[Part]]] = ({}, {})
    for gap in gaps:
        work = case.job.gaps.get(gap)
        word = (work.trial_parts if work else None) or case.job.trial_parts
        mine, lent = Counter[Part](), Counter[Part]()
        for parts, is_now in ((now_of(case, gap), True), (trial_of(case, gap), False)):
            build = listed(case, gap, parts)
            if build is not None:
                build = _measured(build, going_in(case, gap))
            here, shared = Counter[Part](), joint[not is_now and word != "of this unit"]
            for place, part in _places(case, gap, build) if build else ():
                if part[0] in case.unit.always_replaced:
                    continue
                if place in case.unit.shared_parts:
                    shared.setdefault(place, set()).add(part)
                else:
                    here[part] += 1
            if is_now or word == "of this unit":
                mine |= here
            else:
                lent = here - mine
        own += mine
        tried += lent | (_put_in(case, gap) - mine)
    for found, count in ((joint[0], own), (joint[1], tried)):
        for place, parts_there in found.items():
            count.update(parts_there - (joint[0].get(place, set()) if found is joint[1] else set()))
    return own, tried


def _measured(build: ListedBuild, measured: dict[str, NamedPart]) -> ListedBuild:
    """A build whose parts are told by what they measured before they went in."""
    parts = {
        label: tuple(
            measured[label]
            if label in measured and (part.family, part.size)
            == (measured[label].family, measured[label].size) else part
            for part in here
        )
        for label, here in build.parts.items()
    }  # fmt: skip
    return ListedBuild(build.layout, parts)


def _put_in(case: Case, gap: str) -> Counter[Part]:
    """The parts of a gap measured before they go in; none that gaps share is drawn among them."""
    return Counter(
        (part.family, part.size, part.thickness.nm) for part in going_in(case, gap).values()
    )


def _places(case: Case, gap: str, build: ListedBuild) -> Iterator[tuple[str, Part]]:
    layout = case.unit.gaps[gap].arrangements[build.layout]
    for label, place in zip(layout.labels, layout.stack, strict=True):
        for part in build.parts.get(label, ()):
            yield place.part, (part.family, part.size, part.thickness.nm)


FIXED = "fixed"


def aim_of(window: Window) -> Fraction:
    """The gap a window aims at: its middle, its tight or loose end, or a stated value."""
    low, high = window.gap.low, window.gap.high
    if isinstance(window.aim, Length):
        return window.aim.nm
    ends = {"tight": [low], "loose": [high], "middle": [low, high]}[window.aim]
    lengths = [end.nm for end in ends if end is not None]
    return sum(lengths, Length(0).nm) / len(lengths)


def width_of(window: Window) -> Fraction:
    """What deviations are compared with: the width, or the scale where there is none."""
    low, high = window.gap.low, window.gap.high
    if low is not None and high is not None and low < high:
        return (high - low).nm
    assert window.scale is not None
    return window.scale.nm


def lowest_of(gap: Gap, window: Window) -> Length | None:
    """The lowest gap allowed: a pack open at that side stops at zero, but for a preload."""
    low, high = window.gap.low, window.gap.high
    preload = high is not None and high.nm < 0
    if low is None and isinstance(gap, Pack) and window.on != "height" and not preload:
        return Length(0)
    return low


def _within(span: Span, thickness: Fraction) -> bool:
    above = span.low is None or span.low.nm <= thickness
    return above and (span.high is None or thickness <= span.high.nm)


class Stacks:
    """Everything of a job that is known before a part is chosen."""

    def __init__(self, case: Case, gaps: tuple[str, ...], space: Space | None = None) -> None:
        self.case = case
        self.unit = case.unit
        self.gaps = gaps
        self._space = space or own_space

    @cached_property
    def kinds(self) -> tuple[Kind, ...]:
        """What is on hand, in the order of the tie-break."""
        return kinds_of(self.case, self.gaps)

    @cached_property
    def times(self) -> int:
        """The number that makes every length of the job whole."""
        lengths = [kind.deficit for kind in self.kinds]
        for gap in self.gaps:
            for name, layout in self.allowed(gap).items():
                window = self._window(gap, layout)
                lengths += [self._room(gap, name, layout), aim_of(window), width_of(window)]
                lengths += [e.nm for e in (window.gap.low, window.gap.high) if e is not None]
                factors = {place.factor for place in layout.stack}
                lengths += [kind.thickness * f for kind in self.kinds for f in factors]
        return lcm(*(length.denominator for length in lengths))

    def whole(self, length: Fraction) -> int:
        """Put a length into the whole numbers of this job."""
        number = length * self.times
        assert number.denominator == 1
        return number.numerator

    def allowed(self, gap: str) -> dict[str, Arrangement]:
        """The layouts whose facts hold, the best-ranked first, then by name."""
        work = self.case.job.gaps.get(gap)
        found = {}
        for name, layout in self.unit.gaps[gap].arrangements.items():
            holds = all(self._fact(fact) in words for fact, words in layout.only_if.items())
            if holds and (work is None or work.layout in (None, name)):
                found[name] = layout
        return dict(sorted(found.items(), key=lambda item: (item[1].rank or 0, item[0])))

    def _fact(self, fact: str) -> str | None:
        return self.case.job.facts.get(fact, self.unit.facts[fact].default)

    def _window(self, gap: str, layout: Arrangement) -> Window:
        window = layout.window or self.unit.gaps[gap].window
        assert window is not None
        return window

    def _sign(self, gap: str, layout: Arrangement) -> int:
        """A part takes its thickness from a gap and adds it to a height."""
        return -1 if self._window(gap, layout).on == "height" else 1

    def _room(self, gap: str, name: str, layout: Arrangement) -> Fraction:
        """The space less the parts that are not chosen."""
        room = self._space(self.case, gap, name)
        for place in layout.stack:
            nominal = self._family(place).fixed
            if nominal is not None:
                fixed = fixed_in(self.case, place.part)
                room -= fixed.nm * place.factor * self._sign(gap, layout)
        return room

    def _family(self, place: Place) -> Family:
        return self.unit.families[self._family_name(place)]

    def _family_name(self, place: Place) -> str:
        shared = self.unit.shared_parts.get(place.part)
        return shared.family if shared else place.part

    def of(self, gap: str) -> list[Stack]:
        """The layouts of a gap, made ready."""
        return [self._stack(gap, name, layout) for name, layout in self.allowed(gap).items()]

    def _stack(self, gap: str, name: str, layout: Arrangement) -> Stack:
        window = self._window(gap, layout)
        spec = self.unit.gaps[gap]
        low, high = lowest_of(spec, window), window.gap.high
        chosen = [*selective(self.unit, layout)]
        if spec.first_in == spec.ends[1]:
            chosen.reverse()
        return Stack(
            name=name,
            rank=layout.rank or 0,
            room=self.whole(self._room(gap, name, layout)),
            low=None if low is None else self.whole(low.nm),
            high=None if high is None else self.whole(high.nm),
            aim=self.whole(aim_of(window)),
            width=self.whole(width_of(window)),
            nearest=window.nearest,
            slots=tuple(self._slot(gap, layout, index, label) for index, label in chosen),
            moved=self._moved(gap, layout),
            band=self._band(gap, name, window),
            safe_low=self._safe_low(gap, window),
            safe_high=None if high is None else self.whole(high.nm),
        )

    # How far a gap is to keep from its limits.

    def _safe_low(self, gap: str, window: Window) -> int | None:
        """The low end; of a pack that states none, as far below the high one as its scale."""
        low, high = window.gap.low, window.gap.high
        if low is None and gap in self.unit.packs and window.on == "gap":
            assert high is not None
            assert window.scale is not None
            return self.whole(high.nm - window.scale.nm)
        return None if low is None else self.whole(low.nm)

    def _band(self, gap: str, name: str, window: Window) -> Fraction | None:
        """1.645 standard uncertainties in whole nanometres, no more than a quarter of the width."""
        spec = (self.case.as_written or self.case).unit.gaps[gap]
        if not any([*selective(self.unit, one)] for one in spec.arrangements.values()):
            return None
        if window.gap.low == window.gap.high:
            return Fraction(0)
        squares = sum(
            (per**2 * self._of_reading(gap, reading) for per, reading in _terms(spec, name)),
            Fraction(0),
        ) + 2 * max(self._of_parts(spec.arrangements[name]), default=Fraction(0))
        doubt = isqrt(ceil(squares))
        doubt += doubt**2 < squares
        return min(Fraction(-(-1_645 * doubt // 1_000)), width_of(window) / 4) * self.times

    def _of_reading(self, gap: str, reading: str) -> Fraction:
        """The variance of the mean of a reading: gauges tell 0.0010 in, places spread by that.

        A ring that stands proud is read three times as badly.
        """
        case = self.case.as_written or self.case
        work, own = case.job.gaps.get(gap), case.unit.gaps[gap].spreads_by
        taken = (work and work.readings.get(reading)) or case.job.readings.get(reading)
        asked = case.unit.gaps[gap].readings.get(reading) or case.unit.readings.get(reading)
        at = [length.nm for length in taken.at] if taken else []
        places = len(at) or (asked and asked.places) or 1  # not taken: as the unit asks for it
        alone = Fraction(25_400**2, 3) * (9 if taken and taken.proud is not None else 1)
        if places > 1 or (reading == "gap" and gap in self.unit.packs):
            mean = sum(at, Fraction(0)) / places
            shown = sum(((one - mean) ** 2 for one in at), Fraction(0)) / max(1, places - 1)
            alone += max(Fraction(25_400 if own is None else own.nm) ** 2, shown)
        return alone / places

    def _of_parts(self, layout: Arrangement) -> Iterator[Fraction]:
        """The variance of a part of each size that may be taken anew, as often as it counts."""
        for index, _ in selective(self.unit, layout):
            place = layout.stack[index]
            family, shared = self._family(place), self.unit.shared_parts.get(place.part)
            for name, size in family.sizes.items():
                asked = [only for only in (place.only, shared.only if shared else ()) if only]
                if any(name not in only and size.grade not in only for only in asked):
                    continue
                if place.groove and not _within(place.groove.takes, size.nominal.nm):
                    continue
                low, high = size.thickness.low, size.thickness.high
                half = (high.nm - low.nm) / 2 if low and high else Fraction(0)
                if family.tolerance is not None:
                    half += family.tolerance.nm
                elif not half:
                    half = Fraction(25_400)
                yield place.factor**2 * half**2 / 3

    def _slot(self, gap: str, layout: Arrangement, index: int, label: str) -> Slot:
        place = layout.stack[index]
        per = place.factor * self._sign(gap, layout)
        now = self._old(gap)
        return Slot(
            label=label,
            takes={
                k: self.whole(self.kinds[k].thickness * per)
                for k in self._fitting(gap, place, label)
            },
            how_many=place.how_many,
            heat=self._heat(self.unit.gaps[gap], layout, index),
            weight=self._weight(gap, place),
            shared=place.part if self._is_shared(place) else "",
            old=None if now is None else now[1].get(label, Counter()),
        )

    def _fitting(self, gap: str, place: Place, label: str) -> Iterator[int]:
        """What is allowed at a place: by size or grade, by groove, and as it is to be kept."""
        shared = self.unit.shared_parts.get(place.part)
        asked = [only for only in (place.only, shared.only if shared else ()) if only]
        for index, kind in enumerate(self.kinds):
            if kind.family != self._family_name(place):
                continue
            grade = self._family(place).sizes[kind.size].grade
            if any(kind.size not in only and grade not in only for only in asked):
                continue
            if place.groove and not _within(place.groove.takes, kind.thickness):
                continue
            if self._may_stay(gap, place, label, kind):
                yield index

    def _may_stay(self, gap: str, place: Place, label: str, kind: Kind) -> bool:
        work = self.case.job.gaps.get(gap)
        part = going_in(self.case, gap).get(label)
        if part is not None:
            nominal = self.unit.families[part.family].sizes[part.size].nominal
            size_alone = part.thickness == nominal
            return part.size == kind.size and (size_alone or part.thickness.nm == kind.thickness)
        text = work.keep.get(label) if work else None
        if text is None:
            return True
        if text == "now":
            return kind.told in self._there(gap, place, label)
        family = self.unit.families[kind.family]
        part = find_size(kind.family, family, text, self.case.length)
        as_sold = part.thickness == family.sizes[part.size].nominal
        return part.size == kind.size and (as_sold or part.thickness.nm == kind.thickness)

    def _heat(self, spec: Pack | EndPlay, layout: Arrangement, index: int) -> int:
        """Steels are counted 1 to n from the cool end, within the layout."""
        steels = [i for i, p in enumerate(layout.stack) if self._family(p).kind == "steel"]
        if not isinstance(spec, Pack) or index not in steels:
            return 0
        before = steels.index(index)
        return len(steels) - before if spec.heat_end == spec.ends[0] else before + 1

    def _weight(self, gap: str, place: Place) -> int:
        if self._is_shared(place):
            return self.shared_weight(place.part)
        return (place.reach or self.unit.gaps[gap].reach).weight

    def shared_weight(self, name: str) -> int:
        """What changing a shared part counts: as it says, or the most that a place of it says."""
        own = self.unit.shared_parts[name].reach
        if own:
            return own.weight
        most = None
        for gap in self.unit.gaps.values():
            for layout in gap.arrangements.values():
                for place in layout.stack:
                    if place.part == name and place.reach:
                        most = max(most or 0, place.reach.weight)
        return 1 if most is None else most

    def _is_shared(self, place: Place) -> bool:
        return place.part in self.unit.shared_parts

    # What is in the unit now.

    def _old(self, gap: str) -> tuple[Arrangement, dict[str, Old]] | None:
        """The present layout and what lies at each of its places."""
        now = listed(self.case, gap, now_of(self.case, gap))
        if now is None:
            return None
        layout = self.unit.gaps[gap].arrangements[now.layout]
        old: dict[str, Old] = {}
        for label, place in zip(layout.labels, layout.stack, strict=True):
            chosen = [
                (part.family, part.size, part.thickness.nm, "used", True, False)
                for part in now.parts.get(label, ())
            ]
            old[label] = Counter(chosen if label in now.parts else [(FIXED, place.part)])
        return layout, old

    def _there(self, gap: str, place: Place, label: str) -> Old:
        """What lies at a place now; of a shared part what any gap says of it."""
        if self._is_shared(place):
            return self.old_shared.get(place.part, Counter())
        now = self._old(gap)
        return now[1].get(label, Counter()) if now else Counter()

    @cached_property
    def old_shared(self) -> dict[str, Old]:
        """The shared parts now in, as the first gap that names them says."""
        found: dict[str, Old] = {}
        for gap in self.gaps:
            now = self._old(gap)
            for label, place in zip(now[0].labels, now[0].stack, strict=True) if now else ():
                if now and self._is_shared(place):
                    found.setdefault(place.part, now[1][label])
        return found

    def _moved(self, gap: str, layout: Arrangement) -> int:
        """What changes at places that go, and at places of parts that are not chosen."""
        now = self._old(gap)
        if now is None:
            return 0
        was = dict(zip(now[0].labels, now[0].stack, strict=True))
        new = dict(zip(layout.labels, layout.stack, strict=True))
        total = 0
        for label, place in was.items():
            if label not in new and not self._is_shared(place):
                total += self._weight(gap, place) * now[1][label].total()
        for label, place in new.items():
            if self._family(place).fixed is not None:
                fixed: Old = Counter([(FIXED, place.part)])
                total += self._weight(gap, place) * differ(fixed, now[1].get(label, Counter()))
        return total


def _terms(spec: Pack | EndPlay, layout: str) -> Iterator[tuple[Fraction, str]]:
    """The readings in the text of a space, each with its factor."""
    text = spec.arrangements[layout].space.text
    for sign, term in re.findall(r"(?:^| )([+-]?) ?((?:(?! [+-] ).)+)", text):
        name, _, under = term.strip().partition("/")
        if name != "trial stack" and not re.match("[0-9]", name):
            yield Fraction(-1 if sign == "-" else 1, int(under or 1)), name


def own_space(case: Case, gap: str, layout: str) -> Fraction:
    """The space of a layout in nanometres."""
    spec = case.unit.gaps[gap]
    text = spec.arrangements[layout].space.text
    total = Fraction(0)
    for sign, term in re.findall(r"(?:^| )([+-]?) ?((?:(?! [+-] ).)+)", text):
        name, _, under = term.strip().partition("/")
        value = _term(case, gap, name) / int(under or 1)
        total += -value if sign == "-" else value
    return total


def _term(case: Case, gap: str, name: str) -> Fraction:
    if name == "trial stack":
        return _trial(case, gap)
    if re.match("[0-9]", name):
        return parse_length(name).nm
    work = case.job.gaps.get(gap)
    taken = work.readings.get(name) if work else None
    if taken and taken.proud is not None:
        return -taken.proud.nm
    at = (taken or case.job.readings[name]).at
    return sum((length.nm for length in at), Fraction(0)) / len(at)


def _trial(case: Case, gap: str) -> Fraction:
    build = listed(case, gap, trial_of(case, gap))
    assert build is not None
    layout = case.unit.gaps[gap].arrangements[build.layout]
    total = Fraction(0)
    for label, place in zip(layout.labels, layout.stack, strict=True):
        family = case.unit.family_of(place.part)
        fixed = case.job.parts.get(place.part) or family.fixed
        trial = trial_of(case, gap)
        if fixed and family.kind == "friction" and trial and trial.linings:
            fixed = trial.linings
        parts = [part.thickness for part in build.parts.get(label, ())]
        total += place.factor * sum(
            (length.nm for length in ([fixed] if fixed else parts)), Fraction(0)
        )
    return total
