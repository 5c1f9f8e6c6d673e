"""Serves the front page, to begin with a unit or a job, and the list of files to edit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse, link
from specs.files.shelf_address import without_password

if TYPE_CHECKING:
    from gapwright.web.folder import FolderFile

FURTHER = (
    ("/plan", "plan several jobs", "which to complete from one shelf, and what to order"),
    ("/cover", "what a kit serves", "which spaces it serves, and where it leaves holes"),
    ("/kit", "what to put into a kit", "the cheapest that serves so many past drums"),
    ("/files", "shelves and files", "count a shelf, edit a unit or a shelf"),
)


def home(request: PageRequest) -> PageResponse:
    """List the units and jobs of the folder, and the files that cannot be read."""
    held_files = request.shop.files()
    units = [
        (held.sections["unit"], held.name, link("/measure", ("unit", held.name)))
        for held in held_files
        if "unit" in held.sections and "job" not in held.sections
    ]
    jobs = [
        (held.sections["job"], held.name, link("/measure", ("from", held.name)))
        for held in held_files
        if "job" in held.sections
    ]
    wrong = [(held.name, held.wrong) for held in held_files if held.wrong]
    return PageResponse(
        render_page("home.html", units=units, jobs=jobs, wrong=wrong, further=FURTHER)
    )


def files(request: PageRequest) -> PageResponse:
    """List the files that can be edited, first those that cannot be read."""
    held = sorted(request.shop.files(), key=lambda one: (not one.wrong, one.name))
    rows = [(one.name, _holds(one), one.wrong, link("/edit", ("file", one.name))) for one in held]
    counted = [(name, link("/shelf", ("shelf", name))) for name in request.shop.shelves()]
    if request.shop.shelf:
        counted = [(without_password(request.shop.shelf), "/shelf")]
    units = request.shop.units()
    return PageResponse(
        render_page("files.html", files=rows, shelves=counted, units=units, request=request)
    )


def _holds(one: FolderFile) -> str:
    """Return the sections of a file in words, each by its own name."""
    found = one.sections.items()
    return ", ".join(what if what == "shelf" else f"{what} {name}" for what, name in found)
