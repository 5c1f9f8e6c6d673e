"""Serves the editor of a file, with its problems at their lines; a file is saved whole or not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.web.render import screen
from gapwright.web.request import Reply, Visit, link, see
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


def edit(visit: Visit) -> Reply:
    """Open a file; with the field `like`, a new file with the text of another."""
    if visit.one("like"):
        return _shown(visit, OpenedFile("", opened(visit.shop, visit.one("like")).text, ""))
    return _shown(visit, opened(visit.shop, visit.one("file")))


def saved(visit: Visit) -> Reply:
    """Save the edited text, or show it again with the reason why it cannot be saved."""
    text = plain("".join(visit.all("text")[-1:]))
    text = text if text.endswith("\n") or not text else f"{text}\n"
    file, name = visit.one("file"), visit.one("name")
    try:
        if file:
            save(visit.shop, file, text, visit.one("seen"))
        else:
            make(visit.shop, name, text)
    except InputError as error:
        return _shown(visit, OpenedFile(file, text, visit.one("seen")), error.problems)
    return see(link("/edit", ("file", file or name), ("saved", "yes")))


def _shown(visit: Visit, kept: OpenedFile, problems: Sequence[Problem] = ()) -> Reply:
    lines = kept.text.split("\n")
    own = {kept.name, visit.one("name"), ""}
    told = [visit.shop.told(problem) for problem in problems]
    at_name = [one.sentence for one in told if one.field == "name" and not one.file]
    faults = [_fault(one, lines, own) for one in told if one.field != "name" or one.file]
    page = screen(
        "edit.html",
        visit=visit, kept=kept, faults=faults, at_name=at_name, name=visit.one("name"),
        lines=len(lines), saved=visit.one("saved") and not problems,
        counts=not problems and _has_counts(visit, kept.name),
    )  # fmt: skip
    return Reply(page, 422 if problems else 200)


def _fault(problem: Problem, lines: list[str], own: set[str]) -> Fault:
    if problem.file not in own:
        return Fault(0, "", problem.file, str(problem))
    line = problem.line if problem.line <= len(lines) else 0
    stands = lines[line - 1] if line else ""
    return Fault(line, stands, problem.field, problem.sentence)


def _has_counts(visit: Visit, name: str) -> bool:
    return any(held.name == name and "shelf" in held.sections for held in visit.shop.files())
