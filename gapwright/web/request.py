"""What a page is asked and what it answers, in plain values: no page knows the web framework.

A page is a function from a `Visit` to a `Reply`; `routes.py` lists which address it stands at.
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
"""Where the description of the API keeps its schemas."""
Fields = tuple[tuple[str, str], ...]
"""What a form sends: names and values in order; a name may come several times."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One request, as a page needs to know it."""

    shop: Shop
    path: str
    fields: Fields = ()
    """Of the address where the page is looked at, of the form where something is changed."""
    names: dict[str, str] = field(default_factory=dict)
    """What stands in the braces of the route's path."""
    body: bytes = b""
    is_form: bool = True
    """Whether what was sent is a form, not JSON."""
    key: str = ""
    """What a form that changes something must send along, as `key`."""
    limits: Limits | None = None
    """How long it may search, and how to stop it."""

    def one(self, name: str, default: str = "") -> str:
        """The last value of a field that is not empty, without blanks around it."""
        values = [value.strip() for value in self.all(name) if value.strip()]
        return values[-1] if values else default

    def all(self, name: str) -> tuple[str, ...]:
        """Every value of a field."""
        return tuple(value for key, value in self.fields if key == name)

    def link(self, path: str, **changed: str) -> str:
        """An address that keeps all fields but for those changed; an empty value drops one."""
        kept = [(key, value) for key, value in self.fields if key not in changed and value]
        return link(path, *kept, *((key, value) for key, value in changed.items() if value))


@dataclass(frozen=True, slots=True)
class Reply:
    """What is sent back."""

    text: str
    status: int = 200
    kind: str = HTML
    to: str = ""
    """Where to look next, once something is done."""
    save_as: str = ""
    """The name of the file it is to be kept as, where it is none to look at."""
    inline_style: bool = False
    """Whether it is a page of its own that carries its style, as the printed sheet does."""


@dataclass(frozen=True, slots=True)
class ApiDescription:
    """What the description of the API says of an address."""

    what: str
    sends: dict[str, Any] | None = None
    """The JSON Schema of what is sent."""
    returns: dict[str, Any] = field(default_factory=dict)
    """The JSON Schema of the answer."""
    fields: dict[str, str] = field(default_factory=dict)
    """What may stand in the address behind the question mark, and what it means."""
    needs: tuple[str, ...] = ()
    """Which of them must stand there."""


@dataclass(frozen=True, slots=True)
class Route:
    """Where a page stands."""

    path: str
    answer: Callable[[Visit], Reply]
    method: Literal["GET", "POST"] = "GET"
    solves: bool = False
    """Whether it may search for long: then it waits for its turn beside the server's loop."""
    told: ApiDescription | None = None
    """For the JSON API."""


def link(path: str, *fields: tuple[str, str]) -> str:
    """An address of ours with fields; `path` as it is read, with nothing spelled out yet."""
    there, asked = quote(path), urlencode(fields, quote_via=quote, safe="/")
    return f"{there}?{asked}" if asked else there


def see(path: str) -> Reply:
    """Send somebody on, once something is done, so that a reload does not do it again."""
    return Reply("", status=303, to=path)
