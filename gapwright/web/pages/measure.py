"""Serves the page of readings: what to measure, how, and fields for the figures."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gapwright.web.draft import draft_name, in_unit, kept_unseen, opened, units_at
from gapwright.web.forms.fields import at_fields, name_of
from gapwright.web.forms.job import form_of
from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse
from specs.files.shelf_address import is_server

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.errors import Problem
    from specs.formats.yaml import Source

JOB_FIELDS = {key: name_of(("job", key)) for key in ("name", "hand", "due", "note")}


def measure(request: PageRequest) -> PageResponse:
    """Show the form of a unit, or of a job that is in a file."""
    return measured(in_unit(request), ())


def measured(request: PageRequest, problems: Sequence[Problem]) -> PageResponse:
    """Show the form as filled in so far, with each problem at its field."""
    page = opened(request)
    form = form_of(page.unit, page.data, page.names, page.length)
    shown = {*form.fields, *JOB_FIELDS.values(), "shelf"}
    text = render_page(
        "measure.html",
        request=request, page=page, form=form, lengths=units_at(request, "/measure", page.length),
        job=_job(page.data), fields=JOB_FIELDS, wrong=at_fields(problems, request.fields, shown),
        shelf=_shelf(request, page.source), shelves=_shelves(request),
        shelf_inside=isinstance(page.data.get("shelf"), dict), kept=kept_unseen(request, shown),
        draft=draft_name(request),
    )  # fmt: skip
    return PageResponse(text, 422 if problems else 200)


def _job(data: dict[str, Any]) -> dict[str, str]:
    job = data.get("job")
    held = job if isinstance(job, dict) else {}
    return {key: str(held.get(key) or "") for key in JOB_FIELDS}


def _shelf(request: PageRequest, source: Source) -> str:
    """Return the name, from the folder, of the shelf that a job names."""
    named = source.data.get("shelf")
    if not isinstance(named, str) or is_server(named):
        return ""
    return os.path.relpath(Path(source.file).parent / named, request.shop.folder)


def _shelves(request: PageRequest) -> list[str]:
    """Return the shelves to choose from; none where one was named at the start."""
    if request.shop.shelf:
        return []
    held = [one for one in request.shop.files() if "shelf" in one.sections]
    alone = [one.name for one in held if "job" not in one.sections]  # not one drum's own
    return [*alone, *request.shop.ledgers()]
