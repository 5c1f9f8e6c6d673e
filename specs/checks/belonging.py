"""Whether the sets that belong together are complete in a unit, and whether a job mixes them."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from specs.errors import quoted
from specs.findings import Finding, near
from specs.gaps.built import parts_of
from specs.gaps.job_gap import JobGap
from specs.models.sets_left import Statement, own_things, sets_left, statements_of
from specs.parts.lookup import PartError, find_size

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.findings import Path
    from specs.models.belonging import Belonging
    from specs.models.case import Case
    from specs.models.job import GapJob, Parts
    from specs.models.unit import Unit


def belonging_findings(unit: Unit) -> Iterator[Finding]:
    """Yield everything wrong with the sets of a unit."""
    for name, belonging in unit.belongs_together.items():
        where: Path = ("belongs together", name)
        chosen = [thing for thing in belonging.things if _values(unit, thing, chosen=True)]
        if len(belonging.sets) < 2:  # noqa: PLR2004 - one set mixes with nothing
            yield Finding((*where, "sets"), "write two sets or more: one mixes with nothing")
        if len(chosen) > 1:
            sentence = (
                f"{' and '.join(chosen)} are both chosen by a solve; tie them by a rule, or by "
                "what a layout's place takes `only`"
            )
            yield Finding((*where, "sets"), sentence)
        for title, one in belonging.sets.items():
            yield from _set(unit, belonging, (*where, "sets", title), one)


def _set(
    unit: Unit, belonging: Belonging, path: Path, one: dict[str, tuple[str, ...]]
) -> Iterator[Finding]:
    for thing in belonging.things:
        if thing in unit.facts and unit.facts[thing].number_of:
            yield Finding((*path, thing), "a number is no set; ask for it by a layout's `only if`")
        if thing not in one:
            yield Finding(path, f"say what {thing} is in this set, as the others do")
    for thing, values in one.items():
        known = _values(unit, thing)
        for value in values:
            if known and value not in known:
                yield Finding((*path, thing), near(value, known, f"{thing} is one of"))


def _values(unit: Unit, thing: str, *, chosen: bool = False) -> list[str]:
    """Return what a thing of the unit may be; nothing for one of the sets' own.

    With `chosen`, facts count as nothing too, so that only what a solve chooses is left.
    """
    family, gap = unit.families.get(thing), unit.gaps.get(thing)
    if family and family.sizes:
        return [*family.sizes]
    if gap:
        return [*gap.arrangements]
    return [] if chosen or thing not in unit.facts else [*unit.facts[thing].values]


def mismatches(case: Case) -> Iterator[Finding]:
    """Yield everything that a job states and that belongs with something else than the job has."""
    own = [
        thing
        for belonging in case.unit.belongs_together.values()
        for thing in own_things(case.unit, belonging)
    ]
    for thing in case.job.found:
        if thing not in own:
            yield Finding(
                ("found", thing), near(thing, list(dict.fromkeys(own)), "what belongs together is")
            )
    statements = [*statements_of(case), *_in_builds(case)]
    for belonging in case.unit.belongs_together.values():
        stated = [one for one in statements if one.thing in belonging.things]
        yield from mixed(case, belonging, stated)


def mixed(case: Case, belonging: Belonging, stated: list[Statement]) -> Iterator[Finding]:
    """Find the first statement that fits none of the sets that those before it left.

    Parameters
    ----------
    case
        The case.
    belonging
        The sets that belong together.
    stated
        What the job states of their things, in order.

    Yields
    ------
    Finding
        One, at the statement that is no value of its thing or mixes two sets; none where all fit.
    """
    for nth, one in enumerate(stated):
        of = sets_left(case, belonging, [one])
        if not of:
            known = " or ".join(
                dict.fromkeys(v for sets in belonging.sets.values() for v in sets[one.thing])
            )
            yield Finding(one.path, f"{quoted(one.value)}; {one.thing} is {known}")
            return
        if not sets_left(case, belonging, stated[: nth + 1]):
            yield Finding(one.path, _mixture(case, belonging, stated[: nth + 1]))
            return


def _mixture(case: Case, belonging: Belonging, stated: list[Statement]) -> str:
    """Say which two statements do not go together, and what the mixture would do."""
    *before, one = stated
    of = sets_left(case, belonging, [one])
    other = next((b for b in before if not {*sets_left(case, belonging, [b])} & {*of}), before[0])
    goes = " or ".join(dict.fromkeys(v for name in of for v in belonging.sets[name][other.thing]))
    return (
        f"{one.thing} {one.value} goes with {other.thing} {goes}, and {other.thing} here is "
        f"{other.value}: {belonging.would}; use parts of one set, or mend what is written"
    )


def _in_builds(case: Case) -> Iterator[Statement]:
    """Yield the sizes and layouts that a job's builds name: those in the unit, kept, or put in."""
    for name, work in case.job.gaps.items():
        if name not in case.unit.gaps:
            continue
        at: Path = ("gaps", name)
        for key, parts in _builds(work):
            yield from _listed(case, name, parts, (*at, *key))
        yield from _kept(case, name, work)


def _builds(work: GapJob) -> Iterator[tuple[tuple[str, ...], Parts]]:
    now = work.in_unit
    if now is not None and not isinstance(now.parts, str):
        yield ("now",), now
    built = parts_of(work.as_built) if work.as_built else None
    if built is not None and not isinstance(built.parts, str):
        yield ("as built", "parts"), built


def _listed(case: Case, name: str, parts: Parts, path: Path) -> Iterator[Statement]:
    try:
        build = JobGap(case, name).build(parts)
    except PartError:
        return  # reported where the build stands
    yield Statement(name, build.layout, None, path)
    for part in dict.fromkeys(part for place in build.parts.values() for part in place):
        yield Statement(part.family, part.size, None, path)


def _kept(case: Case, name: str, work: GapJob) -> Iterator[Statement]:
    places = {
        label: place.part
        for layout in case.unit.gaps[name].arrangements.values()
        for place, label in zip(layout.stack, layout.labels, strict=True)
    }
    for label, text in work.keep.items():
        if text == "now" or label not in places:
            continue
        family = case.unit.family_name(places[label])
        try:
            part = find_size(family, case.unit.families[family], text, case.origins["job"].length)
        except PartError:
            continue  # reported where the kept part stands
        yield Statement(family, part.size, None, ("gaps", name, "keep", label))
    try:
        going_in = JobGap(case, name).going_in
    except PartError:
        return  # reported where they stand
    for part in dict.fromkeys(chain(*going_in.parts.values())) if going_in else ():
        yield Statement(part.family, part.size, None, ("gaps", name, "going in"))
