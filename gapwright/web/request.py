"""Defines requests and responses in plain values, so that no page knows the web framework.

A page is a function from a request (`PageRequest`) to a response (`PageResponse`); `routes.py`
lists the address of each.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal
from urllib.parse import quote, urlencode

if TYPE_CHECKING:
    from collections.abc import Callable

    from gapwright.web.folder import Shop
    from solver.engines.limits import Limits

HTML, JSON = "text/html; charset=utf-8", "application/json"
SCHEMAS = "#/components/schemas/"
"""Where the OpenAPI description keeps its schemas."""
Fields = tuple[tuple[str, str], ...]
"""The fields of a form, names and values in order; a name may come several times."""


@dataclass(frozen=True, slots=True)
class PageRequest:
    """One request, as a page needs to know it."""

    shop: Shop
    path: str
    fields: Fields = ()
    """Those of the address, and those of the form where one was sent."""
    names: dict[str, str] = field(default_factory=dict)
    """The values of the names in braces in the route's path."""
    body: bytes = b""
    is_form: bool = True
    """Whether a form was sent, rather than JSON."""
    key: str = ""
    """The value of the field `key`, which forms that change something must send."""
    limits: Limits | None = None
    """The time limit of a search, and the watch that stops it."""

    def one(self, name: str, default: str = "") -> str:
        """Return the last value of a field that is not empty, without blanks around it."""
        values = [value.strip() for value in self.all(name) if value.strip()]
        return values[-1] if values else default

    def all(self, name: str) -> tuple[str, ...]:
        """Return every value of a field."""
        return tuple(value for key, value in self.fields if key == name)

    def link(self, path: str, **changed: str) -> str:
        """Return an address that keeps all fields but those changed; an empty value drops one."""
        kept = [(key, value) for key, value in self.fields if key not in changed and value]
        return link(path, *kept, *((key, value) for key, value in changed.items() if value))


@dataclass(frozen=True, slots=True)
class PageResponse:
    """One response."""

    text: str
    status: int = 200
    kind: str = HTML
    to: str = ""
    """The address to redirect to, once something is done."""
    save_as: str = ""
    """The name of the file to save it as, where it is not a page."""
    inline_style: bool = False
    """Whether it is a page that carries its own style, as the printed sheet does."""


@dataclass(frozen=True, slots=True)
class ApiDescription:
    """The OpenAPI description of an address."""

    what: str
    sends: dict[str, Any] | None = None
    """The JSON Schema of the request."""
    returns: dict[str, Any] = field(default_factory=dict)
    """The JSON Schema of the answer."""
    fields: dict[str, str] = field(default_factory=dict)
    """The query parameters, and their meaning."""
    needs: tuple[str, ...] = ()
    """The query parameters that are required."""


@dataclass(frozen=True, slots=True)
class Route:
    """The address of a page."""

    path: str
    answer: Callable[[PageRequest], PageResponse]
    method: Literal["GET", "POST"] = "GET"
    solves: bool = False
    """Whether it may search for long, and so waits in the fair queue."""
    description: ApiDescription | None = None
    """Its description, where it is part of the JSON API."""


def link(path: str, *fields: tuple[str, str]) -> str:
    """Return an address with fields, both percent-encoded; `path` is given as it is read."""
    there, asked = quote(path), urlencode(fields, quote_via=quote, safe="/")
    return f"{there}?{asked}" if asked else there


def see(path: str) -> PageResponse:
    """Return a redirect to an address, so that a reload does not repeat what was done."""
    return PageResponse("", status=303, to=path)
