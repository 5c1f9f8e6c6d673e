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
from gapwright.web.request import JSON, PageRequest, PageResponse
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


def files(request: PageRequest) -> PageResponse:
    """List the files of the folder."""
    return _json(FilesAnswer(request.shop))


def asked(request: PageRequest) -> PageResponse:
    """List the readings, facts and parts that a unit asks for at the bench.

    Raises InputError where the unit cannot be read.
    """
    request.shop.path(request.one("unit"))
    case = unit_case(
        request, Source(str(request.shop.folder / SENT), {"unit": request.one("unit")}, {})
    )
    unit = _lengths(request) or case.origins["unit"].length or "in"
    form = form_of(case.unit, {}, (*case.unit.gaps,), unit)
    return _json(AskedAnswer(form, unit=case.unit.name))


def readings(request: PageRequest) -> PageResponse:
    """Return the average and the spread of every reading.

    A form that is still being filled in gives the readings that can be read, and what is wrong
    with the others. Raises InputError where what was sent as JSON cannot be read.
    """
    source = typed_source(request, blanks=False) if request.is_form else _sent(request)
    parsed = parse_file(source)
    job = parsed.file.job
    if not request.is_form and (parsed.problems or not isinstance(source.data.get("job"), dict)):
        lacking = Problem("this holds no job; send it under the key `job`", SENT, field="job")
        raise InputError(*(parsed.problems or [lacking]))
    unit = _lengths(request) or parsed.file.length or "in"
    problems = [
        request.shop.relative(problem) for problem in (*unnamed(request.fields), *parsed.problems)
    ]
    answer = ReadingsAnswer(
        readings=[*_read(job)] if job else [], problems=[*map(WrongFieldAnswer, problems)]
    )
    return _json(answer, unit)


def fit(request: PageRequest) -> PageResponse:
    """Return the build of a job, or the reason why nothing fits.

    Raises InputError where the job or the field `best` cannot be read.
    """
    case = request.shop.case(_sent(request))
    best = request.one("best", "1")
    if not best.isascii() or not best.isdigit() or not 1 <= int(best[:9]) <= MOST_BEST:
        sentence = f'found "{best[:60]}"; write a whole number from 1 to {MOST_BEST}'
        raise InputError(Problem(sentence, field="best"))
    report = fit_case(case, request.limits, int(best), why=request.one("why") == "yes")
    return _json(answer_of(report), _lengths(request) or case.length)


def check(request: PageRequest) -> PageResponse:
    """Compare the measurements after assembly with what was promised.

    Raises InputError where the job cannot be read.
    """
    case = request.shop.case(_sent(request))
    answer = CheckAnswer(check_case(case, request.limits))
    return _json(answer, _lengths(request) or case.length)


def _sent(request: PageRequest) -> Source:
    """Return the job that was sent, as JSON or as a form."""
    if request.is_form:
        return source_of(request)
    source = parse_json(request.body, SENT)
    return Source(str(request.shop.folder / SENT), source.data, source.lines)


def _lengths(request: PageRequest) -> LengthUnit | None:
    """Return the unit of length that the request asks for; None where it names none."""
    wanted, unit = request.one("lengths"), lengths_in(request)
    if wanted and not unit:
        raise InputError(Problem(near(wanted, UNITS, "write one of"), field="lengths"))
    return unit


def _read(job: Job) -> Iterator[ReadingAnswer]:
    for name, parsed in job.readings.items():
        yield ReadingAnswer(parsed, gap="", reading=name)
    for gap, work in job.gaps.items():
        if work.gap:
            yield ReadingAnswer(work.gap, gap=gap, reading="gap")
        for name, parsed in work.readings.items():
            yield ReadingAnswer(parsed, gap=gap, reading=name)
        if work.as_built:
            yield ReadingAnswer(work.as_built, gap=gap, reading=AS_BUILT)


def _json(answer: Answer, unit: LengthUnit = "in") -> PageResponse:
    return PageResponse(dump(answer, unit, compact=True), kind=JSON)
