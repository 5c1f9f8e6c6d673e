"""Whether the sections of a case fit together, which no single value shows.

Each check goes through one kind of thing and yields findings: where it stands and what to write
instead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.checks.job import job_findings
from specs.checks.kit import kit_findings
from specs.checks.shelf import shelf_findings
from specs.checks.unit import unit_findings
from specs.errors import quoted
from specs.findings import Finding
from specs.values.lengths import LengthError, number, show
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from specs.errors import Problem
    from specs.findings import Path
    from specs.models.case import Case, Origin


def findings_of(
    case: Case, elsewhere: Collection[str] = (), *, known: bool, sound: bool = False
) -> Iterator[tuple[str, list[Finding]]]:
    """Yield the findings of each section of a case.

    Parameters
    ----------
    case
        The case.
    elsewhere
        Families that other units have, which may lie on this case's shelf.
    known
        Whether its unit could be read whole; else shelf, kit and job are not checked against it.
    sound
        Whether unit and shelf were checked before and nothing was found.

    Yields
    ------
    tuple of (str, list of Finding)
        A section's name and its findings; those of shelf, kit and job only where the unit has none.
    """
    unit = [] if sound else list(unit_findings(case.unit))
    yield "unit", unit
    if known and not any(_sentence(finding, case.origins["unit"]) for finding in unit):
        yield "shelf", [] if sound else list(shelf_findings(case, elsewhere))
        if case.kit is not None:
            yield "kit", list(kit_findings(case.unit, case.kit, case.origins["kit"].length))
        yield "job", list(job_findings(case))


def worded(origin: Origin, findings: list[Finding], aside: list[Path]) -> list[Problem]:
    """Turn findings into problems, except those that merely follow from a value set aside.

    Parameters
    ----------
    origin
        Where the section of the findings stands.
    findings
        The findings; a length among them becomes a problem only where it is out of proportion.
    aside
        The paths of the values in the file that could not be read.

    Returns
    -------
    list of Problem
        The problems, each with its file, line and field.
    """
    above = {path[:depth] for path in aside for depth in range(1, len(path) + 1)}
    lost = {str(path[-1]) for path in aside if path}
    problems = []
    for finding in findings:
        sentence = _sentence(finding, origin)
        echo = (
            (origin.section, *finding.path) in above
            or not lost.isdisjoint(finding.leans)
            or sentence.partition("; ")[0] in map(quoted, lost)
        )
        if sentence and not echo:
            problems.append(origin.problem(finding.path, sentence))
    return problems


def _sentence(finding: Finding, origin: Origin) -> str:
    """Return the sentence of a finding; an empty one for a length that is in proportion."""
    if finding.length is None:
        return finding.sentence
    written = finding.written or origin.written(finding.path)
    written = written or number(finding.length, origin.length or "in")
    try:
        check_proportion(finding.length, finding.kind, written, origin.length)
    except LengthError as error:
        return str(error)
    shown = (show(figure, origin.length or "in") for figure in finding.figures)
    return finding.sentence.format(*shown) if finding.figures else ""
