"""Brute force: every assignment of the parts on hand to the places of a small job.

Written from the definitions of the aims as DEVELOPERS.md gives them, and from the files as
people write them: nothing of the solver is imported, so a mistake of posing shows as well as
one of searching. Lengths are whole parts of a nanometre, all multiplied by one number.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import combinations_with_replacement, product
from math import lcm
from typing import TYPE_CHECKING

from specs.parts import Listed, find_size, list_build, selective
from specs.readings import fixed_thickness, space_of, window_of
from specs.unit import Pack
from tests.oracles.parts_on_hand import Kind, kinds_of, now_of, trial_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from specs.case import Case
    from specs.unit import Family, Gap, Layout, Rule, Window
    from specs.unit import Place as WrittenPlace

Key = tuple[str, bool, int]
"""A level: its measure, and for thin steels whether the pack shifts and which grade."""
Parts = tuple[tuple[int, ...], ...]
Old = dict[str, Counter[object]]
WORST = ("worst middle", "worst")
LENGTHS = ("heat", "deviation")
MEASURES = {
    "layout": ("rank",),
    "heat": ("heat",),
    "middle": ("worst middle", "middle"),
    "change": ("change",),
    "aim": ("worst", "ratio", "deviation"),
    "spare": ("shims", "scarce"),
}


@dataclass(frozen=True, slots=True)
class Slot:
    """A place whose part is chosen: what may lie there and what that takes from the gap."""

    label: str
    kinds: tuple[int, ...]
    how_many: tuple[int, int]
    factor: Fraction
    heat: int
    weight: int
    shared: str

    @property
    def options(self) -> list[tuple[int, ...]]:
        """Every part, or every handful of shims, that the place can take."""
        least, most = self.how_many
        counts = range(least, most + 1)
        return [c for n in counts for c in combinations_with_replacement(self.kinds, n)]


@dataclass(frozen=True, slots=True)
class Stack:
    """A layout with its window, all lengths multiplied by the oracle's own number."""

    name: str
    rank: int
    room: int
    low: int | None
    high: int | None
    aim: int
    width: int
    nearest: bool
    slots: tuple[Slot, ...]
    takes: tuple[dict[int, int], ...]
    moved: int
    """What changes apart from the parts chosen here."""

    def miss(self, gap: int) -> int:
        """How far a gap lies outside the window."""
        under = 0 if self.low is None else self.low - gap
        over = 0 if self.high is None else gap - self.high
        return max(0, under, over)


@dataclass(frozen=True, slots=True)
class Filling:
    """One assignment of parts to the places of one gap."""

    stack: Stack
    order: tuple[int, Parts]
    gap: int
    uses: Counter[int]
    shares: dict[str, int]

    @property
    def parts(self) -> Parts:
        """What lies at each place, in order of assembly."""
        return self.order[1]


Assignment = tuple[Filling, ...]


@dataclass(frozen=True, slots=True)
class Best:
    """The best build: the value of every level, and the parts at every place by label."""

    values: dict[Key, Fraction]
    build: tuple[tuple[str, dict[str, tuple[object, ...]]], ...]


@dataclass(frozen=True, slots=True)
class Nearest:
    """How near no fit comes: per gap alone (miss, gap), together (worst ratio, their sum)."""

    alone: tuple[tuple[Fraction, Fraction] | None, ...]
    together: tuple[int, int] | None


class Brute:
    """One job, by trying everything."""

    def __init__(
        self,
        case: Case,
        gaps: tuple[str, ...],
        space: Callable[[Case, str, str], Fraction] | None = None,
    ) -> None:
        self.case = case
        self.gaps = gaps
        self.space = space or (lambda case, gap, layout: space_of(case, gap, layout).length.nm)

    # What is known before anything is chosen.

    @cached_property
    def kinds(self) -> tuple[Kind, ...]:
        """What is on hand, in the order of the tie-break."""
        return kinds_of(self.case, self.gaps)

    @cached_property
    def on_hand(self) -> dict[tuple[str, str], int]:
        """How many there are of each size, the job's own parts included."""
        total: Counter[tuple[str, str]] = Counter()
        for kind in self.kinds:
            total[kind.family, kind.size] += kind.count
        return dict(total)

    @cached_property
    def times(self) -> int:
        """The number that makes every length of the job whole."""
        lengths = [kind.thickness * f for kind in self.kinds for f in self._factors()]
        for gap in self.gaps:
            for name, layout in self._allowed(gap).items():
                lengths += [self._room(gap, name, layout), *self._window_lengths(gap, layout)]
        return lcm(*(length.denominator for length in lengths))

    def _factors(self) -> set[Fraction]:
        layouts = [v for gap in self.gaps for v in self._allowed(gap).values()]
        return {place.factor for layout in layouts for place in layout.stack}

    def _gap(self, gap: str) -> Gap:
        return self.case.unit.gaps[gap]

    def _allowed(self, gap: str) -> dict[str, Layout]:
        """The layouts whose facts hold, the best-ranked first, then by name."""
        work = self.case.job.gaps.get(gap)
        found = {}
        for name, layout in self._gap(gap).arrangements.items():
            holds = all(self._fact(fact) in words for fact, words in layout.only_if.items())
            if holds and (work is None or work.layout in (None, name)):
                found[name] = layout
        return dict(sorted(found.items(), key=lambda item: (item[1].rank or 0, item[0])))

    def _fact(self, fact: str) -> str | None:
        return self.case.job.facts.get(fact, self.case.unit.facts[fact].default)

    def _window(self, gap: str, layout: Layout) -> Window:
        window = window_of(self._gap(gap), layout)
        assert window is not None
        return window

    def _window_lengths(self, gap: str, layout: Layout) -> list[Fraction]:
        window = self._window(gap, layout)
        ends = [end.nm for end in (window.gap.low, window.gap.high) if end is not None]
        return [*ends, aim_of(window), width_of(window)]

    def _sign(self, gap: str, layout: Layout) -> int:
        """A part closes a gap by its thickness, and adds it to a height."""
        return -1 if self._window(gap, layout).on == "height" else 1

    def _room(self, gap: str, name: str, layout: Layout) -> Fraction:
        """The space less the parts that are not chosen."""
        room = self.space(self.case, gap, name)
        for place in layout.stack:
            fixed = fixed_thickness(self.case, place.part)
            if fixed is not None:
                room -= fixed.nm * place.factor * self._sign(gap, layout)
        return room

    def _family(self, part: str) -> str:
        shared = self.case.unit.shared_parts.get(part)
        return shared.family if shared else part

    def _whole(self, length: Fraction) -> int:
        product_ = length * self.times
        assert product_.denominator == 1
        return product_.numerator

    # Stacks and their slots.

    def stacks(self, gap: str) -> list[Stack]:
        """The layouts of a gap, made ready."""
        return [self._stack(gap, name, layout) for name, layout in self._allowed(gap).items()]

    def _stack(self, gap: str, name: str, layout: Layout) -> Stack:
        window = self._window(gap, layout)
        low, high = window.gap.low, window.gap.high
        chosen = [*selective(self.case.unit, layout)]
        if self._gap(gap).first_in == self._gap(gap).ends[1]:  # type: ignore[attr-defined]
            chosen.reverse()
        slots = tuple(self._slot(gap, layout, index, label) for index, label in chosen)
        sign = self._sign(gap, layout)
        return Stack(
            name=name,
            rank=layout.rank or 0,
            room=self._whole(self._room(gap, name, layout)),
            low=None if low is None else self._whole(low.nm),
            high=None if high is None else self._whole(high.nm),
            aim=self._whole(aim_of(window)),
            width=self._whole(width_of(window)),
            nearest=window.nearest,
            slots=slots,
            takes=tuple(
                {k: self._whole(self.kinds[k].thickness * s.factor * sign) for k in s.kinds}
                for s in slots
            ),
            moved=self._moved(gap, layout),
        )

    def _slot(self, gap: str, layout: Layout, index: int, label: str) -> Slot:
        place = layout.stack[index]
        return Slot(
            label=label,
            kinds=tuple(self._fitting(gap, place, label)),
            how_many=place.how_many,
            factor=place.factor,
            heat=self._heat(gap, layout, index),
            weight=self._weight(gap, place),
            shared=place.part if place.part in self.case.unit.shared_parts else "",
        )

    def _fitting(self, gap: str, place: WrittenPlace, label: str) -> Iterator[int]:
        """What is allowed at a place: by size or grade, groove, and what is to be kept."""
        family = self._family(place.part)
        sizes = self.case.unit.families[family].sizes
        shared = self.case.unit.shared_parts.get(place.part)
        for index, kind in enumerate(self.kinds):
            if kind.family != family:
                continue
            called = {kind.size, sizes[kind.size].grade or kind.size}
            asked = [only for only in (place.only, shared.only if shared else ()) if only]
            if any(called.isdisjoint(only) for only in asked):
                continue
            if place.groove and not _within(place.groove.takes, kind.thickness):
                continue
            if self._may_stay(gap, label, kind):
                yield index

    def _may_stay(self, gap: str, label: str, kind: Kind) -> bool:
        work = self.case.job.gaps.get(gap)
        text = work.keep.get(label) if work else None
        if text is None:
            return True
        if text == "now":
            now = self._now(gap)
            there = now.parts.get(label, ()) if now else ()
            return kind.own and any(
                (part.family, part.size, part.thickness.nm) == kind.part for part in there
            )
        family = self.case.unit.families[kind.family]
        part = find_size(kind.family, family, text, self.case.length)
        as_sold = part.thickness == family.sizes[part.size].nominal
        same = as_sold or part.thickness.nm == kind.thickness
        return part.size == kind.size and same

    def _heat(self, gap: str, layout: Layout, index: int) -> int:
        """Steels are counted 1 to n from the cool end, within the layout."""
        spec = self._gap(gap)
        steels = [i for i, p in enumerate(layout.stack) if self._spec(p.part).kind == "steel"]
        if not isinstance(spec, Pack) or index not in steels:
            return 0
        hot_first = spec.heat_end is not None and spec.heat_end == spec.ends[0]
        counted = steels[::-1] if hot_first else steels
        return counted.index(index) + 1

    def _spec(self, part: str) -> Family:
        return self.case.unit.families[self._family(part)]

    def _weight(self, gap: str, place: WrittenPlace) -> int:
        shared = self.case.unit.shared_parts.get(place.part)
        if shared:
            return shared.reach.weight if shared.reach else 1
        return (place.reach or self._gap(gap).reach).weight

    # What is in the unit now.

    def _now(self, gap: str) -> Listed | None:
        parts = now_of(self.case, gap)
        spec = self._gap(gap)
        return parts and list_build(self.case.unit, spec, parts, self.case.length)

    def _old(self, gap: str) -> tuple[Layout, Old] | None:
        """What lies at each place now; fixed parts stand for their family."""
        now = self._now(gap)
        if now is None:
            return None
        layout = self._gap(gap).arrangements[now.layout]
        old: Old = {}
        for label, place in zip(layout.labels, layout.stack, strict=True):
            if label in now.parts:
                own = [(True, p.family, p.size, p.thickness.nm) for p in now.parts[label]]
                old[label] = Counter(own)
            else:
                old[label] = Counter([place.part])
        return layout, old

    @cached_property
    def old_shared(self) -> dict[str, object]:
        """The shared parts that the unit holds now, as the first gap that names them says."""
        found: dict[str, object] = {}
        for gap in self.gaps:
            known = self._old(gap)
            for label, place in self._labelled(known[0]) if known else ():
                if known and place.part in self.case.unit.shared_parts:
                    found.setdefault(place.part, *known[1][label])
        return found

    def _labelled(self, layout: Layout) -> list[tuple[str, WrittenPlace]]:
        return list(zip(layout.labels, layout.stack, strict=True))

    def _moved(self, gap: str, layout: Layout) -> int:
        """What changes at places whose part is not chosen here: gone, new, or fixed."""
        known = self._old(gap)
        if known is None:
            return 0
        before, old = dict(self._labelled(known[0])), known[1]
        new = {
            label: place for label, place in self._labelled(layout) if not self._is_shared(place)
        }
        chosen = {label for _, label in selective(self.case.unit, layout)}
        total = 0
        for label, place in before.items():
            if label not in new and not self._is_shared(place):
                total += self._weight(gap, place) * old[label].total()
        for label in new.keys() - chosen:
            was = old.get(label, Counter())
            total += self._weight(gap, new[label]) * differ(Counter([new[label].part]), was)
        return total

    def _is_shared(self, place: WrittenPlace) -> bool:
        return place.part in self.case.unit.shared_parts

    # Every assignment.

    def fillings(self, gap: str, *, windows: bool = True) -> list[Filling]:
        """Every assignment to one gap that its own stock allows, in its window if asked."""
        found = []
        for order, stack in enumerate(self.stacks(gap)):
            for parts in product(*(slot.options for slot in stack.slots)):
                left = stack.room - sum(
                    takes[k]
                    for takes, here in zip(stack.takes, parts, strict=True)
                    for k in here
                )
                if windows and stack.miss(left):
                    continue
                filling = self._filling(stack, (order, parts), left)
                if filling:
                    found.append(filling)
        return found

    def _filling(self, stack: Stack, order: tuple[int, Parts], gap: int) -> Filling | None:
        uses: Counter[int] = Counter()
        shares: dict[str, int] = {}
        for slot, here in zip(stack.slots, order[1], strict=True):
            if not slot.shared:
                uses.update(here)
            elif shares.setdefault(slot.shared, here[0]) != here[0]:
                return None
        return Filling(stack, order, gap, uses, shares) if self._in_stock(uses) else None

    def _in_stock(self, uses: Counter[int]) -> bool:
        return all(count <= self.kinds[kind].count for kind, count in uses.items())

    def assignments(self, each: Iterable[list[Filling]]) -> Iterator[Assignment]:
        """Every joint assignment that stock, shared parts and rules allow."""
        for together in product(*each):
            shares: dict[str, int] = {}
            uses: Counter[int] = Counter()
            for filling in together:
                uses.update(filling.uses)
                for name, kind in filling.shares.items():
                    if shares.setdefault(name, kind) != kind:
                        break
                else:
                    continue
                break
            else:
                uses.update(shares.values())
                if self._in_stock(uses) and self._rules_hold(together, uses):
                    yield together

    def _rules_hold(self, together: Assignment, uses: Counter[int]) -> bool:
        return all(self._holds(rule, together, uses) for rule in self.case.unit.rules)

    def _holds(self, rule: Rule, together: Assignment, uses: Counter[int]) -> bool:
        if rule.in_ is not None:
            if rule.in_ not in self.gaps:
                return True
            filling = together[self.gaps.index(rule.in_)]
            uses = filling.uses + Counter(filling.shares.values())
        elif len(self.gaps) < len(self.case.unit.gaps) and (rule.must or rule.at_least):
            return rule.at_most is None or self._number(rule.count, uses) <= rule.at_most
        if rule.with_ is not None:
            other = self._number(rule.must or rule.never, uses) > 0
            return not self._number(rule.with_, uses) or other == bool(rule.must)
        number = self._number(rule.count, uses)
        few = rule.at_most is None or number <= rule.at_most
        return few and (rule.at_least is None or number >= rule.at_least)

    def _number(self, text: str | None, uses: Counter[int]) -> int:
        family, _, size = (word.strip() for word in (text or "").partition("/"))
        return sum(
            count
            for kind, count in uses.items()
            if self.kinds[kind].family == family and size in ("", self.kinds[kind].size)
        )

    # The aims.

    @cached_property
    def levels(self) -> list[Key]:
        """The ordered aims, one number each."""
        grades = [max(grades_of(f).values()) for f in self.case.unit.families.values() if f.sizes]
        thin: list[Key] = [
            ("thin", shifts, grade)
            for shifts in (True, False)
            for grade in range(1, max(grades, default=0) + 1)
        ]
        found: list[Key] = []
        for aim in self.case.job.aims or self.case.unit.aims:
            measures = MEASURES.get(aim, ())
            found += thin if aim == "thin" else [(measure, False, 0) for measure in measures]
        return found

    def best(self) -> Best | None:
        """The best build; nothing where none lands every gap in its window."""
        each = [self.fillings(gap) for gap in self.gaps]
        measured = {id(f): self._measured(f) for fillings in each for f in fillings}
        found: tuple[tuple[int, ...], tuple[tuple[int, Parts], ...]] | None = None
        winner: Assignment = ()
        for together in self.assignments(each):
            columns = zip(*(measured[id(filling)] for filling in together), strict=True)
            values = tuple(
                self._joined(key, column, together)
                for key, column in zip(self.levels, columns, strict=True)
            )
            order = tuple(filling.order for filling in together)
            if found is None or (values, order) < found:
                found, winner = (values, order), together
        if found is None:
            return None
        per = [self.times if key[0] in LENGTHS else 1 for key in self.levels]
        values_ = (Fraction(v, n) for v, n in zip(found[0], per, strict=True))
        return Best(dict(zip(self.levels, values_, strict=True)), self._told(winner))

    def _told(self, together: Assignment) -> tuple[tuple[str, dict[str, tuple[object, ...]]], ...]:
        return tuple(
            (
                filling.stack.name,
                {
                    slot.label: tuple(self.kinds[k].told for k in here)
                    for slot, here in zip(filling.stack.slots, filling.parts, strict=True)
                },
            )
            for filling in together
        )

    def _joined(self, key: Key, column: tuple[int, ...], together: Assignment) -> int:
        measure = key[0]
        if measure in WORST:
            return max(column)
        if measure == "change":
            return sum(column) + self._shared_change(together)
        return self._scarce(together) if measure == "scarce" else sum(column)

    def _measured(self, filling: Filling) -> tuple[int, ...]:
        gap = next(g for g in self.gaps if filling.stack.name in self._gap(g).arrangements)
        del gap
        values = self._values(filling)
        return tuple(values.get(key, 0) for key in self.levels)

    def _values(self, filling: Filling) -> dict[Key, int]:
        stack = filling.stack
        off = abs(filling.gap - stack.aim)
        ratio = -(-10_000 * off // stack.width)
        beyond = 0 if stack.nearest else max(0, ratio - 2_500)
        slots = list(zip(stack.slots, filling.parts, strict=True))
        found = {
            "rank": stack.rank,
            "heat": sum(s.heat * self._deficit(k) for s, here in slots for k in here),
            "worst middle": beyond,
            "middle": beyond,
            "change": stack.moved,
            "worst": ratio,
            "ratio": ratio,
            "deviation": off,
            "shims": sum(len(here) for s, here in slots if s.how_many != (1, 1)),
        }
        return {(measure, False, 0): value for measure, value in found.items()}

    def _deficit(self, kind: int) -> int:
        family = self.case.unit.families[self.kinds[kind].family]
        thickest = max(size.nominal for size in family.sizes.values())
        return self._whole((thickest - family.sizes[self.kinds[kind].size].nominal).nm)

    def _shared_change(self, together: Assignment) -> int:
        raise NotImplementedError

    def _scarce(self, together: Assignment) -> int:
        raise NotImplementedError


def _within(span: object, thickness: Fraction) -> bool:
    raise NotImplementedError


def differ(new: Counter[object], old: Counter[object]) -> int:
    """How many parts go in or come out, whichever is more."""
    return max((new - old).total(), (old - new).total())


def aim_of(window: Window) -> Fraction:
    raise NotImplementedError


def width_of(window: Window) -> Fraction:
    raise NotImplementedError


def grades_of(family: Family) -> dict[str, int]:
    raise NotImplementedError
