"""Serves the page after assembly: fields for the finished gaps, and the verdict on them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any

from gapwright.check.service import check_case
from gapwright.check.text import check_lines, verdict
from gapwright.fit.gap_text import measure_steps
from gapwright.paper.job_sheet import sentences
from gapwright.web.draft import draft_name, in_unit, kept_unseen, opened, units_at
from gapwright.web.forms.build import BuildFields, build_fields
from gapwright.web.forms.choice import held_at
from gapwright.web.forms.fields import AS_BUILT, at_fields, lengths_in, name_of, source_of
from gapwright.web.forms.reading import ReadingFields, reading_of
from gapwright.web.job_actions import keeps_own, sent_along
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse
from specs.errors import InputError
from specs.gaps.job_gap import described, expected_state
from specs.models.gaps import Reading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.errors import Problem
    from specs.models.unit import EndPlay, Pack, Unit


@dataclass(frozen=True, slots=True)
class BuiltGapFields:
    """The fields of one gap after assembly."""

    name: str
    check: str
    reading: ReadingFields
    build: BuildFields | None
    """The parts that went in, where they differ from those listed."""
    listed: bool
    """Whether the job lists them."""
    field: str

    @property
    def fields(self) -> set[str]:
        """The names of all its fields."""
        return self.reading.fields | (self.build.fields if self.build else set())


def check(request: PageRequest) -> PageResponse:
    """Ask for the measurements after assembly."""
    return _form(in_unit(request), ())


def checked(request: PageRequest) -> PageResponse:
    """Show the verdict on the measurements, or the form again with what is wrong in it."""
    try:
        found = check_case(request.shop.case(source_of(request)), request.limits)
    except InputError as error:
        problems = [request.shop.relative(problem) for problem in error.problems]
        if not request.one("unit") and not request.one("from"):
            raise
        return _form(in_unit(request), problems)
    unit = lengths_in(request) or found.case.length
    page = render_page(
        "checked.html",
        request=request, verdict=verdict(found), inside=found.inside, agrees=found.agrees,
        job=found.case.job.name, unit=found.case.unit.name,
        report=sentences(islice(check_lines(found, unit), 1, None)),
        lengths=units_at(request, "/checked", unit), sent=sent_along(request),
        ours=keeps_own(request),
    )  # fmt: skip
    return PageResponse(page)


def _form(request: PageRequest, problems: Sequence[Problem]) -> PageResponse:
    page = opened(request)
    job: dict[str, Any] = page.data.get("job") or {}
    read = [name for name in page.names if held_at(job, ("gaps", name))]
    gaps = [_gap(page.unit, name, page.unit.gaps[name], job) for name in read or page.names]
    shown = {name for gap in gaps for name in gap.fields}
    form = render_page(
        "check.html",
        request=request,
        page=page,
        gaps=gaps,
        kept=kept_unseen(request, shown),
        draft=draft_name(request),
        lengths=units_at(request, "/check", page.length),
        wrong=at_fields(problems, request.fields, shown),
    )
    return PageResponse(form, 422 if problems else 200)


def _gap(unit: Unit, name: str, gap: Pack | EndPlay, job: dict[str, Any]) -> BuiltGapFields:
    path = ("job", "gaps", name, AS_BUILT)
    first = next(iter(gap.arrangements.values()))
    asked = described(unit, gap, "gap") or Reading.model_construct(
        what="the finished gap", gauge=None, places=1, state={}, signed=False
    )
    others = tuple(allowance.state for allowance in gap.allowances)
    state = expected_state(first, None)
    held = held_at(job, path[1:])
    return BuiltGapFields(
        name=name,
        check="; ".join(measure_steps(gap.measure)),
        reading=reading_of(path, asked, AS_BUILT, job, state, others),
        build=build_fields(path, unit, gap, held if isinstance(held, dict) else {}),
        listed=isinstance(held, dict) and "parts" in held,
        field=name_of(path),
    )
