"""The door on a network: only a POST of the right token opens a session, and nothing else does.

The addresses are those of the application itself, so that one that is added later is tried too.
"""

from __future__ import annotations

import re
import socket
import time
from typing import TYPE_CHECKING
from urllib.parse import quote

import pytest
from fastapi.testclient import TestClient

from gapwright.web import security as guard
from gapwright.web.app import ENTER, OPEN
from gapwright.web.error_pages import let_in
from gapwright.web.security import MINUTE, MOST_TRIES, Sessions
from gapwright.web.start import Lan, open_shop
from specs.errors import InputError
from tests.amounts import some
from tests.gapwright.web.serve_command import served

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fastapi import FastAPI

    Someone = Callable[..., TestClient]
    Answer = tuple[int, str, str]

TOKEN = "a-token-of-enough-letters"  # noqa: S105 - of these tests alone
METHODS = (
    "GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND",
    "TURN",
)  # fmt: skip
NOWHERE = (
    "/nothing", "/api/", "/api/nothing", "/enter/", "/ENTER", "/bench.css/", "/bench.js/..",
    "//bench.css", "/bench.css%3F/fit", "/bench.css%00", "/plan/x/bench.css", "/fit/bench.js",
)  # fmt: skip
SENT = (
    "", "token=", "token=a-token-of-wrong-letters", "from=job.yaml&key=x&who=eve&job/name=X-1",
    "Token=" + TOKEN, "key=" + TOKEN, '{"token": "' + TOKEN + '"}',
)  # fmt: skip
HELD = ("J-1042", "Harrow", "unit.yaml")
"""Words of the shop, which nobody outside may read."""


@pytest.fixture
def app(folder: Path) -> FastAPI:
    app, token = open_shop(folder, lan=Lan(TOKEN, ("bench.shop",)))
    assert token == TOKEN
    return app


@pytest.fixture
def someone(app: FastAPI) -> Someone:
    """A machine of the network, with a browser's memory for cookies."""

    def come(address: str = "192.0.2.7") -> TestClient:
        return TestClient(
            app, base_url="http://bench.shop", follow_redirects=False, client=(address, 50_000)
        )

    return come


def addresses(app: FastAPI) -> list[str]:
    """Every address of an application, and the one to come in by."""
    paths = [re.sub(r"\{.*?\}", "x", route.path) for route in app.routes]  # type: ignore[attr-defined]
    assert len({*paths}) >= 30
    return [*dict.fromkeys(paths), ENTER]


def ask(client: TestClient, method: str, path: str, sent: str = "", **headers: str) -> Answer:
    """Ask for a page; gives its status, its text and all its headers."""
    kind = {"content-type": "application/x-www-form-urlencoded"} | headers
    body = None if method in ("GET", "HEAD") else sent.encode()
    answer = client.request(method, path, content=body, headers=kind)
    return answer.status_code, answer.text, str(answer.headers)


def check_outside(client: TestClient, method: str, path: str, answer: Answer) -> None:
    """Check that an answer gave nothing away, and left whoever asked outside."""
    status, text, headers = answer
    tried = f"{method} {path}"
    assert "set-cookie" not in headers, tried
    assert not client.cookies, tried
    assert not [word for word in HELD if word in text], tried
    if status == 403:
        assert text in ("", let_in(as_json=path.startswith("/api/")).text), tried
    else:
        assert "token" not in text, tried
        assert path in OPEN or status in (404, 405, 411), tried
        assert status != 200 or method in ("GET", "HEAD"), tried


@pytest.mark.parametrize("method", METHODS)
def test_no_address_and_no_method_opens_a_session_without_the_token(
    app: FastAPI, someone: Someone, folder: Path, method: str
) -> None:
    before = {file: file.read_bytes() for file in folder.iterdir()}
    client = someone()
    for nth, path in enumerate((*addresses(app), *NOWHERE), METHODS.index(method)):
        if (method, path) != ("POST", ENTER):
            for sent in SENT if path == ENTER else some(SENT, nth):
                asked = f"{path}?{sent}" if method in ("GET", "HEAD") else path
                check_outside(client, method, path, ask(client, method, asked, sent))
    for then in ("/", *OPEN, "/", "/fit?from=job.yaml", "/api/files"):
        check_outside(client, "GET", then.partition("?")[0], ask(client, "GET", then))
    assert {file: file.read_bytes() for file in folder.iterdir()} == before


def test_nothing_but_the_style_and_the_script_is_open(app: FastAPI, someone: Someone) -> None:
    seen = {path: ask(someone(), "GET", path)[0] for path in (*addresses(app), *NOWHERE)}
    assert {path for path, status in seen.items() if status == 200} == {*OPEN}
    assert {path for path, status in seen.items() if status not in (200, 403)} == set()


@pytest.mark.parametrize("method", METHODS)
def test_the_right_token_opens_nothing_but_where_it_is_asked_for(
    app: FastAPI, someone: Someone, method: str
) -> None:
    """Sent to another address, or there in another way, it is as good as none."""
    client, right = someone(), f"token={TOKEN}"
    for nth, path in enumerate((*addresses(app), *NOWHERE), METHODS.index(method)):
        if (method, path) == ("POST", ENTER):
            continue
        sent = {
            "as a form": lambda to: ask(client, method, to, right),
            "in the address": lambda to: ask(client, method, f"{to}?{right}"),
            "in a header": lambda to: ask(client, method, to, Authorization=f"Bearer {TOKEN}"),
        }
        if path.startswith("/api/"):
            del sent["in a header"]  # there it is right
        for how in some([*sent], nth):
            check_outside(client, method, path, sent[how](path))
    for cookie in (TOKEN, f"{TOKEN}.{TOKEN}", f"me.{'0' * 64}", ".", ""):
        forged = ask(client, method, "/", cookie=f"{guard.COOKIE}={cookie}")
        check_outside(client, method, "/", forged)


def test_a_wrong_token_opens_nothing(someone: Someone) -> None:
    client = someone()
    bearer = f"Bearer {TOKEN}"
    answers = [
        *(
            ask(client, "POST", ENTER, f"token={quote(wrong)}")
            for wrong in ("", TOKEN[:-1], f"{TOKEN}x", TOKEN.upper(), "é")
        ),
        ask(client, "POST", f"{ENTER}?token={TOKEN}"),
        ask(client, "POST", ENTER, Authorization=bearer),
        ask(client, "GET", "/api/files", Authorization="Bearer no"),
        ask(client, "GET", "/api/files", Authorization=f"{bearer} {TOKEN}"),
    ]
    for status, text, headers in answers:
        assert (status, "this is not the token" in text) == (403, True)
        assert "set-cookie" not in headers
    assert ask(client, "GET", "/")[0] == 403


def test_the_right_token_opens_the_door(app: FastAPI, someone: Someone) -> None:
    client = someone()
    assert ask(client, "GET", "/")[0] == 403
    answer = client.post(ENTER, data={"token": f" {TOKEN} "})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    kept = answer.headers["set-cookie"]
    assert kept.startswith(f"{guard.COOKIE}=")
    assert {"HttpOnly", "SameSite=strict", "Path=/"} <= {*kept.split("; ")}
    assert "J-1042" in client.get("/").text
    for path in addresses(app):
        _, text, headers = ask(client, "GET", path)
        assert 'action="/enter"' not in text
        assert "set-cookie" not in headers
    again = client.post(ENTER, data={"token": TOKEN})  # Back to the door, and once more
    assert again.status_code == 303
    assert again.headers["set-cookie"] == kept


def test_a_script_shows_the_token_with_each_request(app: FastAPI, someone: Someone) -> None:
    client, bearer = someone(), {"authorization": f"Bearer {TOKEN}"}
    assert client.get("/api/files", headers=bearer).status_code == 200
    for path in addresses(app):
        if path.startswith("/api/"):
            for method in METHODS:
                status, text, headers = ask(client, method, path, **bearer)
                assert status != 403
                assert "token" not in text or path.endswith("openapi.json")
                assert "set-cookie" not in headers
    assert ask(client, "GET", "/api/files")[0] == 403


def test_style_script_and_errors_begin_no_session_where_no_token_is_asked(folder: Path) -> None:
    app, _ = open_shop(folder)
    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as client:
        for path in (*OPEN, "/nothing", "/keep", ENTER, "/api/nothing", "/api/files"):
            assert "set-cookie" not in client.get(path).headers, path
        assert "set-cookie" not in client.get("/", headers={"host": "evil.example"}).headers
        assert "set-cookie" in client.get("/").headers


@pytest.mark.parametrize("how", ["page", "script"])
def test_who_guesses_is_locked_out_alone(someone: Someone, how: str) -> None:
    """Ten wrong tokens lock the machine they came from, and no other."""

    def shows(client: TestClient, token: str) -> int:
        if how == "script":
            return ask(client, "GET", "/api/files", Authorization=f"Bearer {token}")[0]
        return ask(client, "POST", ENTER, f"token={token}")[0]

    right = 303 if how == "page" else 200
    for nth in range(30):
        guesser = someone(f"192.0.2.{100 + nth}")
        assert [shows(guesser, f"guess {nth}") for nth in range(MOST_TRIES)] == [403] * MOST_TRIES
        assert shows(guesser, "guess") == 429
        assert shows(guesser, TOKEN) == 429
    assert shows(someone(), TOKEN) == right


@pytest.fixture
def port(folder: Path) -> Iterator[int]:
    """The page as it is really started for a network."""
    with served(folder, "--lan", "--token", TOKEN) as port:
        yield port


def spoken(port: int, method: str, target: str, sent: str = "", source: str = "127.0.0.1") -> str:
    """What a plain client hears of a page that was really started."""
    kind = "Content-Type: application/x-www-form-urlencoded\r\n"
    length = f"{kind}Content-Length: {len(sent)}\r\n" if sent else ""
    head = f"{method} {target} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n{length}\r\n"
    connection = socket.create_connection(("127.0.0.1", port), 10, (source, 0))
    with connection, connection.makefile("rb") as answer:
        connection.sendall(f"{head}{sent}".encode())
        return answer.read().decode()


def test_a_plain_client_stays_outside_a_page_that_was_really_started(
    app: FastAPI, port: int
) -> None:
    for path in (*addresses(app), *NOWHERE):
        for method in METHODS:
            for target in (path, f"http://localhost{path}"):
                told = spoken(port, method, target, "" if method in ("GET", "HEAD") else "token=x")
                status = int(told.split()[1])
                assert "set-cookie" not in told.lower()
                assert not [word for word in HELD if word in told]
                assert status in (400, 403, 404, 405, 429) or path in OPEN, (method, target, told)
    upgrade = "/ HTTP/1.1\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nX:"
    assert spoken(port, "GET", upgrade).startswith("HTTP/1.1 403")


def test_ten_guesses_on_a_real_connection_keep_nobody_else_out(port: int) -> None:
    for _ in range(MOST_TRIES):
        assert spoken(port, "POST", ENTER, "token=x", "127.0.0.9").startswith("HTTP/1.1 403")
    assert spoken(port, "POST", ENTER, f"token={TOKEN}", "127.0.0.9").startswith("HTTP/1.1 429")
    assert spoken(port, "POST", ENTER, f"token={TOKEN}").startswith("HTTP/1.1 303")


def test_a_lock_ends_with_its_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [1_000.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    sessions = Sessions(TOKEN)
    told = [sessions.turned_away("guess", "a") for _ in range(MOST_TRIES + 2)]
    assert [one.status if one else 0 for one in told] == [403] * MOST_TRIES + [429] * 2
    assert sessions.turned_away(TOKEN, "b") is None
    now[0] += MINUTE - 1
    assert sessions.turned_away(TOKEN, "a")
    now[0] += 2
    assert sessions.turned_away(TOKEN, "a") is None


def test_addresses_that_guess_no_more_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [1_000.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    sessions = Sessions(TOKEN)
    for nth in range(500):
        assert sessions.turned_away("guess", f"address {nth}")
        now[0] += 1
    assert len(sessions.tries) <= MINUTE + 1


@pytest.mark.parametrize("token", ["1234", " 1234           ", "é" * 3])
def test_a_token_that_is_easily_guessed_is_refused(folder: Path, token: str) -> None:
    with pytest.raises(InputError, match="easily guessed: use 12 characters or more"):
        open_shop(folder, lan=Lan(token))


def test_a_token_of_ones_own_is_taken_without_the_blanks_around_it(folder: Path) -> None:
    app, token = open_shop(folder, lan=Lan(f" {TOKEN}\n", ("bench.shop",)))
    assert token == TOKEN
    client = TestClient(app, base_url="http://bench.shop", follow_redirects=False)
    assert ask(client, "POST", ENTER, f"token={TOKEN}")[0] == 303


def test_a_new_token_is_another_each_time(folder: Path) -> None:
    _, one = open_shop(folder, lan=Lan())
    _, other = open_shop(folder, lan=Lan())
    assert one != other
    assert len(one) >= 20
