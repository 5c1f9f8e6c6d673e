"""States the rules on who may ask what: hosts, origins, tokens and sizes.

Three kinds of intruder are kept out: a page of another site in the user's own browser (it may
neither send a form here nor give our address another name), somebody on the same network without
the token, and a request that is too large or never ends. `app.py` applies these rules before any
page.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import socket
import time
from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

if TYPE_CHECKING:
    from collections.abc import Mapping

LOOPBACK = ("127.0.0.1", "localhost", "::1")
MOST_BYTES = 1_000_000
MOST_FIELDS = 20_000
BODY_SECONDS = 10.0
"""The time limit for the whole of a request to arrive."""
MOST_TRIES, MINUTE = 10, 60.0
MOST_AT_ONCE = 400
"""The most connections; further ones are refused for the moment."""
COOKIE = "gapwright"
STRICT = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
STYLED = STRICT.replace("style-src 'self'", "style-src 'unsafe-inline'").replace(
    "script-src 'self'; ", ""
)
"""For the printed sheet, which carries its style and has no script."""
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",  # with no-referrer browsers send `Origin: null` with forms
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cache-Control": "no-store",
}


@dataclass(frozen=True, slots=True)
class Refused:
    """The reason why a request is refused."""

    status: int
    sentence: str


TOO_MANY_FIELDS = Refused(
    413, f"this form has more than {MOST_FIELDS:,} fields; take the command for so many"
)


def too_many_fields(text: str) -> bool:
    """Return whether a form or a query has more fields than any of our pages sends."""
    return text.count("&") >= MOST_FIELDS


def hosts_of(named: tuple[str, ...]) -> tuple[str, ...]:
    """Return the names a server on the network accepts; a name that only resolves to it is not one.

    Further names to accept are `named`.
    """
    own = socket.gethostname().lower()
    found = {own, f"{own}.local", *_addresses(own)} - {"0.0.0.0", "::"}  # noqa: S104 - left out
    return (*LOOPBACK, *sorted(found), *named)


def _addresses(name: str) -> set[str]:
    """Return the addresses of this machine on its networks."""
    try:
        found = {str(entry[4][0]) for entry in socket.getaddrinfo(name, None)}
    except OSError:
        found = set()
    return found | {reachable()}


def reachable() -> str:
    """Return the address of this machine on its network, as other machines see it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # sends nothing: only asks which way it would go
            return str(probe.getsockname()[0])
        except OSError:
            return LOOPBACK[0]


def host_name(header: str) -> str:
    """Return the name in a Host header without the port; empty where the header is malformed."""
    try:
        parts = urlsplit(f"//{header}")
        alone = parts.netloc == header and "@" not in header and parts.port != 0
        return (parts.hostname or "").lower() if alone else ""
    except ValueError:
        return ""


def refuse(method: str, path: str, headers: Mapping[str, str]) -> Refused | None:
    """Return the reason to refuse a request, whatever its page; None where it may pass.

    Requests that change something must come from one of our pages. Other sites may link to the
    front page alone, so that no other site makes this machine search.

    Parameters
    ----------
    method
        The HTTP method.
    path
        The path of the address.
    headers
        The headers by their names in lower case.
    """
    site = headers.get("sec-fetch-site", "none")
    if site not in ("same-origin", "none") and (method != "GET" or path != "/"):
        return Refused(403, "this request comes from another site; open the bench page itself")
    origin = headers.get("origin")
    if origin is not None and method not in ("GET", "HEAD"):
        own = headers.get("host", "")
        if origin.partition("://")[2].lower() != own.lower():
            return Refused(403, "this form comes from another site; open the bench page itself")
    if method in ("GET", "HEAD"):
        carries = "transfer-encoding" in headers or headers.get("content-length", "0") != "0"
        return Refused(400, "what is only looked at carries nothing along") if carries else None
    return _sized(headers)


def _sized(headers: Mapping[str, str]) -> Refused | None:
    length = headers.get("content-length", "")
    if "transfer-encoding" in headers or not (length.isascii() and length.isdigit()):
        return Refused(411, "a request states its length; this one comes in pieces")
    if int(length) > MOST_BYTES:
        return Refused(413, f"this request is larger than {MOST_BYTES // 1_000_000} MB")
    return None


@dataclass(slots=True)
class Sessions:
    """The sessions of those who have shown the token, each with the key for its forms.

    A session is a random name sealed by an HMAC, so that none need be remembered. On the loopback
    address no token is required, and every browser has a session all the same. Wrong tokens are
    remembered for a minute, by the address they came from.
    """

    token: str = ""
    """Empty where none is required."""
    _secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    tries: dict[str, deque[float]] = field(default_factory=dict)
    """For each address, the times of its wrong tokens within the last minute."""

    def open(self) -> str:
        """Begin a session, and return its name with the seal."""
        name = secrets.token_urlsafe(24)
        return f"{name}.{self._sealed('session', name)}"

    def knows(self, session: str) -> bool:
        """Return whether a session was begun by this server."""
        name, _, seal = session.partition(".")
        return hmac.compare_digest(self._sealed("session", name).encode(), seal.encode())

    def key(self, session: str) -> str:
        """Return the key that a form of this session must send with a change."""
        return self._sealed("key", session)

    def holds(self, session: str, key: str) -> bool:
        """Return whether a key belongs to a session, so that a change came from a form of it."""
        return hmac.compare_digest(self.key(session).encode(), key.encode())

    def turned_away(self, shown: str, address: str) -> Refused | None:
        """Return the reason to refuse a token; None where it is right.

        After MOST_TRIES wrong tokens from one address in a minute, every further one from there is
        refused. Other addresses are not affected.

        Parameters
        ----------
        shown
            The token that was shown.
        address
            The address that the request comes from.
        """
        now = time.monotonic()
        self._forget(now - MINUTE)
        if len(self.tries.get(address, ())) >= MOST_TRIES:
            return Refused(429, "too many wrong tokens from this machine; wait a minute")
        if hmac.compare_digest(self.token.encode(), shown.strip().encode()):
            return None
        self.tries.setdefault(address, deque()).append(now)
        return Refused(403, "this is not the token that was printed when the page was started")

    def _forget(self, before: float) -> None:
        """Drop wrong tokens from before a time, so that few addresses are remembered."""
        for address, times in [*self.tries.items()]:
            while times and times[0] < before:
                times.popleft()
            if not times:
                del self.tries[address]

    def _sealed(self, what: str, text: str) -> str:
        return hmac.new(self._secret, f"{what} {text}".encode(), hashlib.sha256).hexdigest()
