"""What no single value shows: whether the sections of a case fit together.

Each check goes through one kind of thing and yields where it stands and what to write instead;
all of them are listed together, file by file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.errors import InputError, Problem
from specs.job_checks import job_findings
from specs.lengths import LengthError, check_proportion
from specs.shelf_checks import shelf_findings
from specs.unit_checks import unit_findings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.case import Case, Origin
    from specs.findings import Finding


def check_case(case: Case) -> None:
    """Raise InputError with all that is wrong with a case, or return."""
    problems = _worded(case.origins["unit"], unit_findings(case.unit))
    if not problems:
        problems += _worded(case.origins["shelf"], shelf_findings(case))
        problems += _worded(case.origins["job"], job_findings(case))
    if problems:
        raise InputError(*problems)


def _worded(origin: Origin, findings: Iterator[Finding]) -> list[Problem]:
    problems = []
    for finding in findings:
        sentence = finding.sentence
        if finding.length is not None:
            try:
                written = origin.written(finding.path) or finding.written
                check_proportion(finding.length, finding.kind, written, origin.length)
                continue
            except LengthError as error:
                sentence = str(error)
        problems.append(origin.problem(finding.path, sentence))
    return sorted(problems, key=lambda problem: problem.line)
