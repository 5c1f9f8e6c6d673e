"""The parts that a part on the bench belongs with, and the refusal of mixtures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.checks.belonging import mixed
from specs.errors import Problem, refusal
from specs.models.belonging import as_length
from specs.models.sets_left import Statement

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gapwright.tell.candidates import Candidate
    from gapwright.tell.service import Measured, Teller
    from specs.models.belonging import Belonging
    from specs.models.case import Case


def belongs_with(case: Case, candidate: Candidate) -> Iterator[str]:
    """Say what belongs with a part, and what a mixture would do."""
    for belonging in case.unit.belongs_together.values():
        if candidate.family not in belonging.things:
            continue
        sets = [
            one
            for name, one in belonging.sets.items()
            if name == candidate.size or candidate.size in one[candidate.family]
        ]
        if len(sets) == 1:
            others = [
                f"{thing} {' or '.join(values)}"
                for thing, values in sets[0].items()
                if thing != candidate.family
            ]
            yield f"belongs with {', '.join(others)}; mixed, {belonging.would}"


def check_mixed(teller: Teller, parts: Iterable[Measured], file: str) -> None:
    """Refuse parts that are seen together with parts they never go with.

    Parameters
    ----------
    teller
        Identifies the parts.
    parts
        The parts on the bench.
    file
        The name of the list they come from, for messages.

    Raises
    ------
    InputError
        With every part whose size is known and contradicts what is seen of it.
    """
    problems = [
        Problem(finding.sentence, file if part.line else "", part.line)
        for part in parts
        for belonging in teller.case.unit.belongs_together.values()
        for finding in mixed(teller.case, belonging, _statements(teller, belonging, part))
    ]
    if problems:
        raise refusal(problems)


def _statements(teller: Teller, belonging: Belonging, part: Measured) -> list[Statement]:
    """Return what is seen of a part, and its size by its thickness alone where that is sure."""
    length = teller.case.origins["unit"].length
    seen = [
        Statement(name, value, as_length(value, length), ())
        for name, value in part.seen
        if name in belonging.things
    ]
    identified = teller.by_thickness(part) if seen else None
    if (
        identified is None
        or identified.verdict != "told"
        or identified.candidate.family not in belonging.things
    ):
        return []
    here = identified.candidate
    value = (
        here.size if here.size not in belonging.sets else belonging.sets[here.size][here.family][0]
    )
    return [Statement(here.family, value, None, ()), *seen]
