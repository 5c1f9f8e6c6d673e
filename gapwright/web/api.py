"""The JSON API: what the pages ask, for scripts and for the page's own live figures.

A job comes as a job file is written, as JSON, or as the fields of the page's form.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.check.as_json import check_shape
from gapwright.check.service import check_case
from gapwright.fit.as_json import shape
from gapwright.fit.service import fit_case
from gapwright.output.exact_json import length
from gapwright.web.draft import unit_case
from gapwright.web.forms.fields import AS_BUILT, UNITS, lengths_in, source_of
from gapwright.web.forms.job import form_of
from gapwright.web.request import JSON, Reply, Visit
from specs.errors import InputError, Problem
from specs.files.parse import take_file
from specs.findings import near
from specs.formats.json import parse_json
from specs.formats.yaml import Source

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.web.forms.choice import Choice
    from gapwright.web.forms.job import AskedGap
    from gapwright.web.forms.reading import AskedReading
    from specs.models.job import Job, Taken
    from specs.values.lengths import Unit

SENT = "what was sent"
MOST_BEST = 20


def files(visit: Visit) -> Reply:
    """What the folder holds."""
    held = visit.shop.files()
    by_section = {
        section: [
            {"file": one.name, "name": one.sections[section]}
            for one in held
            if section in one.sections
        ]
        for section in ("unit", "shelf", "job")
    }
    wrong = [{"file": one.name, "sentence": one.wrong} for one in held if one.wrong]
    return _json({"shape": "gapwright files 1", **by_section, "ledgers": visit.shop.ledgers(),
                  "cannot be read": wrong})  # fmt: skip


def asked(visit: Visit) -> Reply:
    """What a unit asks for at the bench."""
    visit.shop.path(visit.one("unit"))
    case = unit_case(visit, Source(str(visit.shop.folder / SENT), {"unit": visit.one("unit")}, {}))
    unit = _lengths(visit) or case.origins["unit"].length or "in"
    form = form_of(case.unit, {}, (*case.unit.gaps,), unit)
    return _json({
        "shape": "gapwright asked 1",
        "unit": case.unit.name,
        "facts": [{"fact": one.label, "values": _values(one)} for one in form.facts],
        "shared readings": [_reading(one) for one in form.shared],
        "gaps": [_gap(gap) for gap in form.gaps],
    })  # fmt: skip


def readings(visit: Visit) -> Reply:
    """The average and the spread of every reading.

    Of a form that is still being typed, of those that can be read, beside what is wrong with the
    others.
    """
    source = _sent(visit)
    taken = take_file(source)
    job = taken.file.job
    if not visit.is_form and (taken.problems or not isinstance(source.data.get("job"), dict)):
        lacking = Problem("this holds no job; send it under the key `job`", SENT, field="job")
        raise InputError(*(taken.problems or [lacking]))
    unit = _lengths(visit) or taken.file.length or "in"
    problems = [visit.shop.told(problem) for problem in taken.problems]
    return _json({
        "shape": "gapwright readings 1",
        "readings": list(_read(job, unit)) if job else [],
        "problems": [{"sentence": one.sentence, "field": one.field} for one in problems],
    })  # fmt: skip


def fit(visit: Visit) -> Reply:
    """The build of a job, or no fit and why."""
    case = visit.shop.case(_sent(visit))
    best = visit.one("best", "1")
    if not best.isascii() or not best.isdigit() or not 1 <= int(best[:9]) <= MOST_BEST:
        sentence = f'found "{best[:60]}"; write a whole number from 1 to {MOST_BEST}'
        raise InputError(Problem(sentence, field="best"))
    report = fit_case(case, visit.limits, int(best), why=visit.one("why") == "yes")
    return _json(shape(report, _lengths(visit) or case.length))


def check(visit: Visit) -> Reply:
    """What was measured after assembly beside what was promised."""
    case = visit.shop.case(_sent(visit))
    return _json(check_shape(check_case(case, visit.limits), _lengths(visit) or case.length))


def _sent(visit: Visit) -> Source:
    """The job that was sent, as JSON or as a form."""
    if visit.is_form:
        return source_of(visit)
    source = parse_json(visit.body, SENT)
    return Source(str(visit.shop.folder / SENT), source.data, source.lines)


def _lengths(visit: Visit) -> Unit | None:
    """The unit to print lengths in, where one is asked for."""
    wanted, unit = visit.one("lengths"), lengths_in(visit)
    if wanted and not unit:
        raise InputError(Problem(near(wanted, UNITS, "write one of"), field="lengths"))
    return unit


def _read(job: Job, unit: Unit) -> Iterator[dict[str, Any]]:
    yield from (_average("", name, taken, unit) for name, taken in job.readings.items())
    for gap, work in job.gaps.items():
        if work.gap:
            yield _average(gap, "gap", work.gap, unit)
        yield from (_average(gap, name, taken, unit) for name, taken in work.readings.items())
        if work.as_built:
            yield _average(gap, AS_BUILT, work.as_built, unit)


def _average(gap: str, name: str, taken: Taken, unit: Unit) -> dict[str, Any]:
    low, high = min(taken.at), max(taken.at)
    return {
        "gap": gap or None,
        "reading": name,
        "places": len(taken.at),
        "average": length(taken.average, unit),
        "lowest": length(low, unit),
        "highest": length(high, unit),
        "spread": length(high - low, unit),
    }


def _gap(gap: AskedGap) -> dict[str, Any]:
    return {
        "gap": gap.name,
        "kind": gap.kind,
        "window": gap.window,
        "room for the stack": gap.sum,
        "readings": [_reading(one) for one in gap.readings],
        "trial build": [
            {"place": part.place, "sizes": _values(part.sizes[0])}
            for part in (gap.build.parts if gap.build else ())
        ],
        "check": gap.check or None,
    }


def _reading(one: AskedReading) -> dict[str, Any]:
    return {
        "reading": one.name,
        "what": one.what,
        "how": [*one.how],
        "places": len(one.values),
    }


def _values(choice: Choice) -> list[str]:
    return [value for value, _ in choice.values if value]


def _json(shape: dict[str, Any]) -> Reply:
    return Reply(json.dumps(shape, ensure_ascii=False, allow_nan=False), kind=JSON)
