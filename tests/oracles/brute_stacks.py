"""The layouts of a job as the brute force sees them, read from the files as written.

Lengths are multiplied by one number that makes all of them whole, so that trying every
assignment adds integers only.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from math import lcm
from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap
from specs.models.gaps import Pack
from specs.parts.lookup import find_size, selective
from specs.values.lengths import Length
from tests.oracles.brute_kinds import kinds_of, listed, now_of
from tests.oracles.brute_shapes import Old, Slot, Stack, differ

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from specs.models.case import Case
    from specs.models.families import Family
    from specs.models.gaps import Arrangement, EndPlay
    from specs.models.stacks import Place, Window
    from specs.values.fields import Span
    from tests.oracles.brute_kinds import Kind
    from tests.oracles.brute_shapes import Space

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


def _within(span: Span, thickness: Fraction) -> bool:
    above = span.low is None or span.low.nm <= thickness
    return above and (span.high is None or thickness <= span.high.nm)


class Stacks:
    """Everything of a job that is known before a part is chosen."""

    def __init__(self, case: Case, gaps: tuple[str, ...], space: Space | None = None) -> None:
        self.case = case
        self.unit = case.unit
        self.gaps = gaps
        self._space = space or (lambda case, gap, name: JobGap(case, gap).space(name).length.nm)

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
                fixed = self.case.job.parts.get(place.part, nominal)
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
        low, high = window.gap.low, window.gap.high
        spec = self.unit.gaps[gap]
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
        )

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
        shared = self.unit.shared_parts.get(place.part)
        if shared:
            return shared.reach.weight if shared.reach else 1
        return (place.reach or self.unit.gaps[gap].reach).weight

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
                (part.family, part.size, part.thickness.nm, "used", True)
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
