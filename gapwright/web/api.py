"""Answers the JSON API, for scripts and for the live figures of the page.

A job is sent as JSON with the fields of a job file, or as the fields of the page's form.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.check.answer import CheckAnswer
from gapwright.check.service import check_case
from gapwright.fit.answer import answer_of
from gapwright.fit.service import fit_case
from gapwright.output.answers import dump
from gapwright.web.answer import (
    AskedAnswer,
    FilesAnswer,
    ReadingAnswer,
    ReadingsAnswer,
    WrongFieldAnswer,
)
from gapwright.web.draft import unit_case
from gapwright.web.forms.fields import (
    AS_BUILT,
    UNITS,
    lengths_in,
    source_of,
    typed_source,
    unnamed,
)
from gapwright.web.forms.job import form_of
from gapwright.web.request import JSON, Reply, Visit
from specs.errors import InputError, Problem
from specs.files.parse import parse_file
from specs.findings import near
from specs.formats.json import parse_json
from specs.formats.yaml import Source

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.output.answers import Answer
    from specs.models.job import Job
    from specs.values.lengths import LengthUnit

SENT = "what was sent"
MOST_BEST = 20


def files(visit: Visit) -> Reply:
    """List the files of the folder."""
    return _json(FilesAnswer(visit.shop))


def asked(visit: Visit) -> Reply:
    """List the readings, facts and parts that a unit asks for at the bench.

    Raises InputError where the unit cannot be read.
    """
    visit.shop.path(visit.one("unit"))
    case = unit_case(visit, Source(str(visit.shop.folder / SENT), {"unit": visit.one("unit")}, {}))
    unit = _lengths(visit) or case.origins["unit"].length or "in"
    form = form_of(case.unit, {}, (*case.unit.gaps,), unit)
    return _json(AskedAnswer(form, unit=case.unit.name))


def readings(visit: Visit) -> Reply:
    """Return the average and the spread of every reading.

    A form that is still being filled in gives the readings that can be read, and what is wrong
    with the others. Raises InputError where what was sent as JSON cannot be read.
    """
    source = typed_source(visit, blanks=False) if visit.is_form else _sent(visit)
    taken = parse_file(source)
    job = taken.file.job
    if not visit.is_form and (taken.problems or not isinstance(source.data.get("job"), dict)):
        lacking = Problem("this holds no job; send it under the key `job`", SENT, field="job")
        raise InputError(*(taken.problems or [lacking]))
    unit = _lengths(visit) or taken.file.length or "in"
    problems = [visit.shop.told(problem) for problem in (*unnamed(visit.fields), *taken.problems)]
    told = ReadingsAnswer(
        readings=[*_read(job)] if job else [], problems=[*map(WrongFieldAnswer, problems)]
    )
    return _json(told, unit)


def fit(visit: Visit) -> Reply:
    """Return the build of a job, or the reason why nothing fits.

    Raises InputError where the job or the field `best` cannot be read.
    """
    case = visit.shop.case(_sent(visit))
    best = visit.one("best", "1")
    if not best.isascii() or not best.isdigit() or not 1 <= int(best[:9]) <= MOST_BEST:
        sentence = f'found "{best[:60]}"; write a whole number from 1 to {MOST_BEST}'
        raise InputError(Problem(sentence, field="best"))
    report = fit_case(case, visit.limits, int(best), why=visit.one("why") == "yes")
    return _json(answer_of(report), _lengths(visit) or case.length)


def check(visit: Visit) -> Reply:
    """Compare the measurements after assembly with what was promised.

    Raises InputError where the job cannot be read.
    """
    case = visit.shop.case(_sent(visit))
    told = CheckAnswer(check_case(case, visit.limits))
    return _json(told, _lengths(visit) or case.length)


def _sent(visit: Visit) -> Source:
    """Return the job that was sent, as JSON or as a form."""
    if visit.is_form:
        return source_of(visit)
    source = parse_json(visit.body, SENT)
    return Source(str(visit.shop.folder / SENT), source.data, source.lines)


def _lengths(visit: Visit) -> LengthUnit | None:
    """Return the unit of length that the request asks for; None where it names none."""
    wanted, unit = visit.one("lengths"), lengths_in(visit)
    if wanted and not unit:
        raise InputError(Problem(near(wanted, UNITS, "write one of"), field="lengths"))
    return unit


def _read(job: Job) -> Iterator[ReadingAnswer]:
    for name, taken in job.readings.items():
        yield ReadingAnswer(taken, gap="", reading=name)
    for gap, work in job.gaps.items():
        if work.gap:
            yield ReadingAnswer(work.gap, gap=gap, reading="gap")
        for name, taken in work.readings.items():
            yield ReadingAnswer(taken, gap=gap, reading=name)
        if work.as_built:
            yield ReadingAnswer(work.as_built, gap=gap, reading=AS_BUILT)


def _json(answer: Answer, unit: LengthUnit = "in") -> Reply:
    return Reply(dump(answer, unit, compact=True), kind=JSON)
