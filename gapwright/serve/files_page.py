"""The files of the folder, to be edited, and its shelves, to be counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.serve.plan_asked_page import shelves
from gapwright.serve.screen import screen
from gapwright.serve.visit import Reply, Visit, link

if TYPE_CHECKING:
    from gapwright.serve.shop import Held


def files(visit: Visit) -> Reply:
    """List what may be edited, those first that cannot be read."""
    held = sorted(visit.shop.files(), key=lambda one: (not one.wrong, one.name))
    told = [(one.name, _holds(one), one.wrong, link("/edit", ("file", one.name))) for one in held]
    named = [visit.shop.shelf] if visit.shop.shelf else shelves(visit)
    counted = [(name, link("/shelf", ("shelf", name))) for name in named]
    units = [(one.name, one.sections["unit"]) for one in held if "unit" in one.sections]
    return Reply(screen("files.html", files=told, shelves=counted, units=units, visit=visit))


def _holds(one: Held) -> str:
    """What a file holds, each section by the name it gives itself."""
    found = one.sections.items()
    return ", ".join(what if what == "shelf" else f"{what} {name}" for what, name in found)
