"""What a job's facts say of a layout, and why the unit file has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from specs.models.case import Case
    from specs.models.gaps import Arrangement


def fact_of(case: Case, fact: str) -> str | None:
    """What a job states, or the unit file's default."""
    return case.job.facts.get(fact, case.unit.facts[fact].default)


def reason_of(name: str, layout: Arrangement) -> str:
    """What the unit file says for a layout, with what it holds for; nothing where it is silent."""
    if not layout.because:
        return ""
    only = ", ".join(f"{fact} {' or '.join(values)}" for fact, values in layout.only_if.items())
    return f"layout {name}" + (f", only with {only}" if only else "") + f": {layout.because}"


def broken_facts(case: Case, layout: Arrangement) -> list[str]:
    """The facts of a job that rule a layout out."""
    return [
        fact
        for fact, allowed in layout.only_if.items()
        if not case.unit.facts[fact].meets(fact_of(case, fact), allowed)
    ]


def fact_words(case: Case, layout: Arrangement, fact: str) -> str:
    """What a fact is; of an amount also what the layout allows."""
    of = case.unit.facts[fact].number_of
    text = f"{fact} is {fact_of(case, fact)}"
    if not of:
        return text
    return f"{text.removesuffix(of).strip()} {of}, and it takes {' or '.join(layout.only_if[fact])}"
