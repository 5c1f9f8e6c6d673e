"""What a browser without scripts sends of the forms of a page."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser


@dataclass(slots=True)
class Form:
    """One form: where it is sent, and its fields in order."""

    action: str
    fields: list[tuple[str, str]] = field(default_factory=list)


class Forms(HTMLParser):
    """Reads the forms of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[Form] = []
        self._select: str | None = None
        self._first: str | None = None
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.found.append(Form(told["action"]))
        if not self.found or ("name" not in told and tag != "option"):
            return
        if tag == "input" and (told.get("type") != "checkbox" or "checked" in told):
            self.found[-1].fields.append((told["name"], told.get("value", "")))
        elif tag == "select":
            self._select, self._first = told["name"], None
        elif tag == "option" and self._select is not None:
            self._first = told["value"] if self._first is None else self._first
            if "selected" in told:
                self._first = told["value"]

    def handle_endtag(self, tag: str) -> None:
        if tag == "select" and self._select is not None:
            self.found[-1].fields.append((self._select, self._first or ""))
            self._select = None


def form_at(page: str, action: str) -> Form:
    """The form of a page that is sent to an address."""
    return next(form for form in Forms(page).found if form.action == action)
