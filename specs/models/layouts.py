"""Which layouts a job's facts allow, and which window applies in each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.models.sets_left import barred

if TYPE_CHECKING:
    from specs.models.case import Case
    from specs.models.gaps import Arrangement


def fact_of(case: Case, fact: str) -> str | None:
    """What a job states, or the unit file's default."""
    return case.job.facts.get(fact, case.unit.facts[fact].default)


def allowed_layouts(case: Case, gap_name: str) -> dict[str, Arrangement]:
    """The layouts of a gap that the job allows, the best ranked first."""
    work = case.job.gaps.get(gap_name)
    only = work.layout if work else None
    layouts, strange = case.unit.gaps[gap_name].arrangements, barred(case)
    allowed = [
        name
        for name, layout in layouts.items()
        if only in (None, name) and not _broken(case, layout) and (gap_name, name) not in strange
    ]
    return {n: layouts[n] for n in sorted(allowed, key=lambda n: (layouts[n].rank, n))}


def barred_layouts(case: Case, gap_name: str) -> list[str]:
    """Say of each layout that the job's facts rule out why it is not allowed."""
    return [f"{name}: {why}" for name, why in layouts_aside(case, gap_name).items() if why]


def layouts_aside(case: Case, gap_name: str) -> dict[str, str]:
    """The layouts that are not allowed, and why; no reason where the job asks for another."""
    allowed, strange = allowed_layouts(case, gap_name), barred(case)
    aside = {}
    for name, layout in sorted(case.unit.gaps[gap_name].arrangements.items()):
        if name not in allowed:
            facts = ", ".join(_said(case, layout, fact) for fact in _broken(case, layout))
            why = facts + (f" ({layout.because})" if facts and layout.because else "")
            aside[name] = why or strange.get((gap_name, name), "")
    return aside


def reason_of(name: str, layout: Arrangement) -> str:
    """What the unit file says for a layout, with what it holds for; nothing where it is silent."""
    if not layout.because:
        return ""
    only = ", ".join(f"{fact} {' or '.join(values)}" for fact, values in layout.only_if.items())
    return f"layout {name}" + (f", only with {only}" if only else "") + f": {layout.because}"


def _broken(case: Case, layout: Arrangement) -> list[str]:
    return [
        fact
        for fact, allowed in layout.only_if.items()
        if not case.unit.facts[fact].meets(fact_of(case, fact), allowed)
    ]


def _said(case: Case, layout: Arrangement, fact: str) -> str:
    """What a fact is; of an amount also what the layout allows."""
    of = case.unit.facts[fact].number_of
    said = f"{fact} is {fact_of(case, fact)}"
    if not of:
        return said
    return f"{said.removesuffix(of).strip()} {of}, and it takes {' or '.join(layout.only_if[fact])}"
