"""What no single value shows: whether the sections of a case fit together.

Each check goes through one kind of thing and yields where it stands and what to write instead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.checks.job import job_findings
from specs.checks.kit import kit_findings
from specs.checks.shelf import shelf_findings
from specs.checks.unit import unit_findings
from specs.errors import quoted
from specs.findings import Finding
from specs.values.lengths import LengthError, number
from specs.values.plausibility import check_proportion

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from specs.errors import Problem
    from specs.findings import Path
    from specs.models.case import Case, Origin


def findings_of(
    case: Case, *, known: bool, elsewhere: Collection[str] = ()
) -> Iterator[tuple[str, list[Finding]]]:
    """Yield what is wrong with each section.

    The shelf and the job are only checked against a unit that is `known` and right; families that
    a unit `elsewhere` has are no concern of this one.
    """
    unit = list(unit_findings(case.unit))
    yield "unit", unit
    if known and not any(_sentence(finding, case.origins["unit"]) for finding in unit):
        yield "shelf", list(shelf_findings(case, elsewhere))
        if case.kit is not None:
            yield "kit", list(kit_findings(case.unit, case.kit, case.origins["kit"].length))
        yield "job", list(job_findings(case))


def worded(origin: Origin, findings: list[Finding], aside: list[Path]) -> list[Problem]:
    """Word the findings that are not the mere echo of something set aside."""
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
    """What there is to say of a finding; nothing of a length that is in proportion."""
    if finding.length is None:
        return finding.sentence
    written = finding.written or origin.written(finding.path)
    written = written or number(finding.length, origin.length or "in")
    try:
        check_proportion(finding.length, finding.kind, written, origin.length)
    except LengthError as error:
        return str(error)
    return ""
