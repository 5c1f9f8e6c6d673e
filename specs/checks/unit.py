"""Whether a unit file fits together: names, sizes, stacks, faces, windows, layouts, rules."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from specs.checks.belonging import belonging_findings
from specs.checks.families import family_findings
from specs.checks.kit import replaced_findings
from specs.errors import quoted
from specs.findings import Finding, Path, near, weigh
from specs.gaps.faces import faces_findings
from specs.models.bands import band_findings
from specs.models.families import STACKABLE
from specs.models.gaps import Pack
from specs.models.gauges import usual_gauges
from specs.models.heating import heating_findings
from specs.values.formula import TRIAL
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from specs.models.families import Family
    from specs.models.gaps import Arrangement, EndPlay, Gap, Reading
    from specs.models.gauges import Gauge
    from specs.models.stacks import Place, Shared, Window
    from specs.models.unit import Rule, Unit


def unit_findings(unit: Unit) -> Iterator[Finding]:
    """Yield everything wrong with a unit."""
    for name, family in unit.families.items():
        yield from family_findings(("families", name), family)
    for name, shared in unit.shared_parts.items():
        yield from _shared(("shared parts", name), unit, name, shared)
    yield from gauge_findings(unit.gauges)
    yield from parts_gauge_findings(unit.parts_read_with, {**usual_gauges(), **unit.gauges})
    yield from _reading_names((), unit.readings, ("gap", TRIAL))
    for name, reading in unit.readings.items():
        yield from evenness_findings(("readings", name), reading)
    yield from _facts(unit)
    if not unit.gaps:
        yield Finding((), "the unit has no packs and no end plays; write one under `packs`")
    for section in ("packs", "end plays"):
        for name, gap in (unit.packs if section == "packs" else unit.end_plays).items():
            if section == "end plays" and name in unit.packs:
                yield Finding((section, name), f'there is a pack "{name}" too; name them apart')
            yield from _gap((section, name), unit, gap)
    for index, rule in enumerate(unit.rules):
        yield from rule_findings(("rules", index), unit, rule)
    for name, band in unit.bands.items():
        yield from band_findings(("bands", name), band)
    yield from replaced_findings(unit.always_replaced)
    yield from _separate(unit)
    yield from belonging_findings(unit)


def _separate(unit: Unit) -> Iterator[Finding]:
    chosen = [name for name, family in unit.families.items() if family.sizes]
    for index, name in enumerate(unit.separate_parts):
        if name not in chosen:
            where = ("separate parts", index)
            yield Finding(where, near(name, chosen, "families whose part is chosen"))


def gauge_findings(gauges: dict[str, Gauge]) -> Iterator[Finding]:
    """Yield the lengths of some gauges, to be refused where they are out of proportion."""
    for name, gauge in gauges.items():
        for keys, length in (((), gauge.tells), (("u",), gauge.u), (("limits",), gauge.limits)):
            if length is not None:
                yield weigh(("gauges", name, *keys), length, "tells")


def parts_gauge_findings(name: str | None, gauges: dict[str, Gauge]) -> Iterator[Finding]:
    """Yield a finding where the gauge that parts were read with is none that is known."""
    if name is not None and name not in gauges:
        yield Finding(("parts read with",), near(name, [*gauges], "the gauges known are"))


def evenness_findings(path: Path, stated: Gap | Reading) -> Iterator[Finding]:
    """Yield how far places may differ, to be refused where it is out of proportion."""
    for key, length in (("spreads by", stated.spreads_by), ("even within", stated.even_within)):
        if length is not None:
            yield weigh((*path, key), length, "tolerance")


def _reading_names(
    path: Path, readings: Iterable[str], taken: tuple[str, ...]
) -> Iterator[Finding]:
    for name in readings:
        if name in taken:
            sentence = f'"{name}" is a name of our own; give this reading another'
            yield Finding((*path, "readings", name), sentence)


def _facts(unit: Unit) -> Iterator[Finding]:
    for name, fact in unit.facts.items():
        if bool(fact.values) == bool(fact.number_of):
            yield Finding(("facts", name), "write either its `values`, or what it is a `number of`")
        elif fact.default is not None and not fact.may_be(fact.default):
            yield Finding(("facts", name, "default"), fact.sentence(fact.default))


def _shared(path: Path, unit: Unit, name: str, shared: Shared) -> Iterator[Finding]:
    if name in unit.families:
        yield Finding(path, f'there is a family "{name}" too; name them apart')
    family = unit.families.get(shared.family)
    if family is None:
        yield Finding((*path, "family"), near(shared.family, [*unit.families], "families"))
        return
    if family.fixed is not None or family.kind == "steel":
        yield Finding((*path, "family"), "a shared part is chosen from sizes and is no steel")
    yield from _only(path, family, shared.only)


def _only(path: Path, family: Family, only: tuple[str, ...]) -> Iterator[Finding]:
    allowed = [*family.sizes, *(s.grade for s in family.sizes.values() if s.grade)]
    for name in only:
        if name not in allowed:
            sentence = near(name, allowed, "its sizes and grades")
            yield Finding((*path, "only"), sentence, leans=("sizes",))


def _gap(path: Path, unit: Unit, gap: Pack | EndPlay) -> Iterator[Finding]:
    if bool(gap.stack) == bool(gap.layouts):
        yield Finding(path, "write either one `stack`, or `layouts` with a stack each")
        return
    for key, end in (("first in", gap.first_in), ("heat end", getattr(gap, "heat_end", None))):
        if end is not None and end not in gap.ends:
            yield Finding((*path, key), near(end, [*gap.ends], "its ends"), leans=("ends",))
    yield from _reading_names(path, gap.readings, (TRIAL,))
    yield from evenness_findings(path, gap)
    for name, reading in gap.readings.items():
        yield from evenness_findings((*path, "readings", name), reading)
    for name, layout in gap.arrangements.items():
        place = (*path, "layouts", name) if gap.layouts else path
        yield from _layout(place, unit, gap, layout)
    for index, allowance in enumerate(gap.allowances):
        where = (*path, "allowances", index)
        if not allowance.state:
            yield Finding((*where, "state"), "name the state this allowance is for")
        if any(other.state == allowance.state for other in gap.allowances[:index]):
            yield Finding((*where, "state"), "two allowances are for this state; keep one")
        yield weigh((*where, "add"), allowance.add, "window")
    if isinstance(gap, Pack) and gap.heat is not None:
        yield from heating_findings((*path, "heat"), gap.heat, unit.families, _steels(unit, gap))


def _steels(unit: Unit, gap: Pack) -> set[str]:
    """Return the families of the steels in a pack."""
    parts = {place.part for layout in gap.arrangements.values() for place in layout.stack}
    return {name for name in parts & unit.families.keys() if unit.families[name].kind == "steel"}


def _layout(path: Path, unit: Unit, gap: Pack | EndPlay, layout: Arrangement) -> Iterator[Finding]:
    if len(gap.layouts) > 1 and gap.layouts[layout.name].rank is None:
        yield Finding(path, "give each layout a `rank`, 0 for the best")
    if not layout.stack:
        yield Finding((*path, "stack"), "a stack has at least one place")
    yield from _conditions((*path, "only if"), unit, layout)
    window = layout.window_if_any
    if window is None:
        yield Finding(path, "this stack has no window; write `window` here or for the whole gap")
    else:
        own = not gap.layouts or gap.layouts[layout.name].window is not None
        yield from _window((*(path if own else path[:2]), "window"), window)
    known = [*gap.readings, *unit.readings, "gap", TRIAL]
    for name in layout.space.readings:
        if name not in known:
            yield Finding((*path, "space"), _no_reading(name, known))
    for index, place in enumerate(layout.stack):
        yield from _place((*path, "stack", index), unit, gap, place)
    yield from _labels(path, unit, layout)
    yield from faces_findings(path, unit, gap, layout)


def _no_reading(name: str, known: list[str]) -> str:
    terms = [part.strip() for part in re.split(r"[-+−]", name)]
    if len(terms) > 1 and all(term in known for term in terms):
        return f"{quoted(name)}; put a blank before and after each plus and minus"
    return near(name, known, "readings")


def _conditions(path: Path, unit: Unit, layout: Arrangement) -> Iterator[Finding]:
    for fact, values in layout.only_if.items():
        if fact not in unit.facts:
            yield Finding((*path, fact), near(fact, [*unit.facts], "facts"))
            continue
        for value in values:
            if not unit.facts[fact].may_be_allowed(value):
                yield Finding((*path, fact), unit.facts[fact].sentence(value, asked=True))


def _window(path: Path, window: Window) -> Iterator[Finding]:
    low, high = window.gap.low, window.gap.high
    for end in (low, high):
        if end is not None:
            yield weigh(path, end, "window")
    if low is None or high is None:
        if window.aim == "middle" or window.scale is None:
            yield Finding(path, "a window open at one side states its `aim` and a `scale`")
    elif low == high and window.scale is None:
        yield Finding(path, "a window without width states a `scale` to compare with")
    if (window.aim, None) in (("tight", low), ("loose", high)):
        yield Finding(path, f"the window has no {window.aim} side; write the aim as a length")
    if isinstance(window.aim, Length) and not window.gap.holds(window.aim):
        yield Finding((*path, "aim"), "the aim lies outside its window")
    if window.scale is not None and window.scale <= Length(0):
        yield Finding((*path, "scale"), "a scale is more than zero")


def _place(path: Path, unit: Unit, gap: Pack | EndPlay, place: Place) -> Iterator[Finding]:
    known = [*unit.families, *unit.shared_parts]
    if place.part not in known:
        yield Finding(path, near(place.part, known, "families"))
        return
    shared = unit.shared_parts.get(place.part)
    if shared and shared.family not in unit.families:
        return
    family = unit.family_of(place.part)
    yield from _only(path, family, place.only)
    if place.how_many != (1, 1) and (family.kind not in STACKABLE or shared or family.fixed):
        yield Finding((*path, "how many"), "only shims and spacers of the shelf may be stacked")
    if family.kind == "steel" and not isinstance(gap, Pack):
        yield Finding(path, "a steel belongs in a pack; call it a spacer or a washer here")
    if place.lining_faces is not None and place.lining_faces not in gap.ends:
        sentence = near(place.lining_faces, [*gap.ends], "its ends")
        yield Finding((*path, "lining faces"), sentence, leans=("ends",))
    if family.lined == "one side" and place.lining_faces is None:
        sentence = "lined on one side: say which end its `lining faces`"
        yield Finding(path, sentence, leans=("lining faces",))
    yield from _groove(path, place, family)


def _groove(path: Path, place: Place, family: Family) -> Iterator[Finding]:
    if place.groove is None:
        return
    if family.kind != "ring":
        yield Finding((*path, "groove"), "only a ring sits in a groove")
    if place.groove.form and place.groove.form != family.form:
        yield Finding(
            (*path, "groove"),
            f"cut for a {place.groove.form} ring; this family is {family.form or 'of no form'}",
        )
    thicknesses = [size.nominal for size in family.sizes.values()]
    thicknesses += [family.fixed] if family.fixed is not None else []
    if thicknesses and not any(map(place.groove.takes.holds, thicknesses)):
        yield Finding((*path, "groove"), "no size of this ring fits its groove")


def _labels(path: Path, unit: Unit, layout: Arrangement) -> Iterator[Finding]:
    parts = [place.part for place in layout.stack]
    for part in unit.shared_parts:
        if parts.count(part) > 1:
            yield Finding(
                (*path, "stack"), f'"{part}" is one part and lies here twice; name a family'
            )
    seen: set[str] = set()
    for label in layout.labels:
        if label in seen:
            yield Finding((*path, "stack"), f'two places are called "{label}"; name them apart')
        seen.add(label)


def rule_findings(path: Path, unit: Unit, rule: Rule) -> Iterator[Finding]:
    """Yield everything wrong with one rule, which stands at `path`."""
    pair = rule.with_ is not None and (rule.must is None) != (rule.never is None)
    bound = rule.count is not None and not (rule.at_most is None and rule.at_least is None)
    paired = any(value is not None for value in (rule.with_, rule.must, rule.never))
    bounded = any(value is not None for value in (rule.count, rule.at_most, rule.at_least))
    if (pair, bound) != (paired, bounded) or pair == bound:
        yield Finding(
            path, "write `with` and `must` or `never`, or `count` and `at most` or `at least`"
        )
    if rule.at_most is not None and (rule.at_least or 0) > rule.at_most:
        yield Finding(path, f"at least {rule.at_least} is more than at most {rule.at_most}")
    for key, text in (
        ("with", rule.with_), ("must", rule.must), ("never", rule.never), ("count", rule.count),
    ):  # fmt: skip
        if text is not None:
            yield from _reference((*path, key), unit, text)
    if rule.in_ is not None and rule.in_ not in unit.gaps:
        yield Finding((*path, "in"), near(rule.in_, [*unit.gaps], "packs and end plays"))


def _reference(path: Path, unit: Unit, text: str) -> Iterator[Finding]:
    family, _, size = (part.strip() for part in text.partition("/"))
    if family not in unit.families:
        yield Finding(path, near(family, [*unit.families], "families"))
    elif unit.families[family].fixed is not None:
        sentence = "a rule counts chosen parts and this one is fixed; give its family `sizes`"
        yield Finding(path, sentence)
    elif size and size not in unit.families[family].sizes:
        sentence = near(size, [*unit.families[family].sizes], "its sizes")
        yield Finding(path, sentence, leans=("sizes",))
