"""Serves the list of the folder's files, to edit, and of its shelves, to count."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse, link
from specs.files.shelf_address import without_password

if TYPE_CHECKING:
    from gapwright.web.folder import FolderFile


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
