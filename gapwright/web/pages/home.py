"""Serves the front page, to begin with a unit or to go on with a job."""

from __future__ import annotations

from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse, link

FURTHER = (
    ("/plan", "plan several jobs", "which to complete from one shelf, and what to order"),
    ("/cover", "what a kit serves", "which spaces it serves, and where it leaves holes"),
    ("/kit", "what to put into a kit", "the cheapest that serves so many past drums"),
    ("/files", "shelves and files", "count a shelf, edit a unit or a shelf"),
)


def home(request: PageRequest) -> PageResponse:
    """List the units and jobs of the folder, and the files that cannot be read."""
    files = request.shop.files()
    units = [
        (held.sections["unit"], held.name, link("/measure", ("unit", held.name)))
        for held in files
        if "unit" in held.sections and "job" not in held.sections
    ]
    jobs = [
        (held.sections["job"], held.name, link("/measure", ("from", held.name)))
        for held in files
        if "job" in held.sections
    ]
    wrong = [(held.name, held.wrong) for held in files if held.wrong]
    return PageResponse(
        render_page("home.html", units=units, jobs=jobs, wrong=wrong, further=FURTHER)
    )
