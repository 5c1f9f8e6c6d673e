"""Serves the list of the folder's files, to edit, and of its shelves, to count."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit, link
from specs.files.shelf_address import without_password

if TYPE_CHECKING:
    from gapwright.web.folder import FolderFile


def files(visit: Visit) -> Reply:
    """List the files that can be edited, first those that cannot be read."""
    held = sorted(visit.shop.files(), key=lambda one: (not one.wrong, one.name))
    told = [(one.name, _holds(one), one.wrong, link("/edit", ("file", one.name))) for one in held]
    counted = [(name, link("/shelf", ("shelf", name))) for name in visit.shop.shelves()]
    if visit.shop.shelf:
        counted = [(without_password(visit.shop.shelf), "/shelf")]
    units = visit.shop.units()
    return Reply(screen("files.html", files=told, shelves=counted, units=units, visit=visit))


def _holds(one: FolderFile) -> str:
    """Return the sections of a file in words, each by its own name."""
    found = one.sections.items()
    return ", ".join(what if what == "shelf" else f"{what} {name}" for what, name in found)
