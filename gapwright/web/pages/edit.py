"""Serves the editor of a file, with its problems at their lines; a file is saved whole or not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.web.render import render_page
from gapwright.web.request import PageRequest, PageResponse, link, see
from gapwright.web.saved_files import OpenedFile, make, opened, plain, save
from specs.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from specs.errors import Problem


@dataclass(frozen=True, slots=True)
class Fault:
    """One problem of the text: its line, the text there, and what to write instead."""

    line: int
    """From 1; 0 where it belongs to no line."""
    stands: str
    where: str
    sentence: str


def edit(request: PageRequest) -> PageResponse:
    """Open a file; with the field `like`, a new file with the text of another."""
    if request.one("like"):
        return _shown(request, OpenedFile("", opened(request.shop, request.one("like")).text, ""))
    return _shown(request, opened(request.shop, request.one("file")))


def saved(request: PageRequest) -> PageResponse:
    """Save the edited text, or show it again with the reason why it cannot be saved."""
    text = plain("".join(request.all("text")[-1:]))
    text = text if text.endswith("\n") or not text else f"{text}\n"
    file, name = request.one("file"), request.one("name")
    try:
        if file:
            save(request.shop, file, text, request.one("seen"))
        else:
            make(request.shop, name, text)
    except InputError as error:
        return _shown(request, OpenedFile(file, text, request.one("seen")), error.problems)
    return see(link("/edit", ("file", file or name), ("saved", "yes")))


def _shown(
    request: PageRequest, kept: OpenedFile, problems: Sequence[Problem] = ()
) -> PageResponse:
    lines = kept.text.split("\n")
    own = {kept.name, request.one("name"), ""}
    named = [request.shop.relative(problem) for problem in problems]
    at_name = [one.sentence for one in named if one.field == "name" and not one.file]
    faults = [_fault(one, lines, own) for one in named if one.field != "name" or one.file]
    page = render_page(
        "edit.html",
        request=request, kept=kept, faults=faults, at_name=at_name, name=request.one("name"),
        lines=len(lines), saved=request.one("saved") and not problems,
        counts=not problems and _has_counts(request, kept.name),
    )  # fmt: skip
    return PageResponse(page, 422 if problems else 200)


def _fault(problem: Problem, lines: list[str], own: set[str]) -> Fault:
    if problem.file not in own:
        return Fault(0, "", problem.file, str(problem))
    line = problem.line if problem.line <= len(lines) else 0
    stands = lines[line - 1] if line else ""
    return Fault(line, stands, problem.field, problem.sentence)


def _has_counts(request: PageRequest, name: str) -> bool:
    return any(held.name == name and "shelf" in held.sections for held in request.shop.files())
