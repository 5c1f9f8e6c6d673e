"""Who is kept out of the bench page: other sites, other names, strangers, and what is too large."""

from __future__ import annotations

import re
import socket
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import pytest
from fastapi.testclient import TestClient

from gapwright.demo import write_demo
from gapwright.web import security as guard
from gapwright.web.routes import ROUTES
from gapwright.web.security import BODY_SECONDS, MOST_BYTES, hosts_of
from gapwright.web.start import Lan, open_shop
from tests.gapwright.web.sent_forms import form_at
from tests.gapwright.web.serve_command import served

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

TOKEN = "a-token-of-enough-letters"  # noqa: S105 - of these tests alone
FORM = {"content-type": "application/x-www-form-urlencoded"}
CHANGES = [route.path for route in ROUTES if route.method == "POST" and route.description is None]
SCRIPT = "<script>alert(1)</script>"


@pytest.fixture
def page(folder: Path) -> Iterator[TestClient]:
    app, _ = open_shop(folder)
    with TestClient(app, base_url="http://localhost", follow_redirects=False) as client:
        yield client


@pytest.fixture
def lan(folder: Path) -> Iterator[TestClient]:
    app, token = open_shop(folder, lan=Lan(TOKEN, ("bench.shop",)))
    assert token == TOKEN
    with TestClient(app, base_url="http://bench.shop", follow_redirects=False) as client:
        yield client


def key_of(page: TestClient) -> str:
    return dict(form_at(page.get("/fit?from=job.yaml").text, "/keep").fields)["key"]


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "localhost.evil.example",
        "127.0.0.1.nip",
        "",
        "[::",
        "me@localhost",
        "localhost/bench.css?",
        "localhost/bench.css#",
        "localhost:x",
        "localhost:99999",
    ],
)
def test_a_name_that_only_points_here_is_refused(page: TestClient, host: str) -> None:
    for path in ("/", "/api/files", "/bench.css"):
        assert page.get(path, headers={"host": host}).status_code == 400


@pytest.mark.parametrize(
    "host", ["localhost", "localhost:8710", "127.0.0.1:1", "[::1]:8710", "LOCALHOST"]
)
def test_its_own_names_are_answered_to(page: TestClient, host: str) -> None:
    assert page.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_site_may_only_link_to_the_front_page(page: TestClient, site: str) -> None:
    headers = {"sec-fetch-site": site}
    assert page.get("/", headers=headers).status_code == 200
    for path in ("/fit?from=job.yaml", "/measure?from=job.yaml", "/api/files"):
        assert page.get(path, headers=headers).status_code == 403


@pytest.mark.parametrize("path", CHANGES)
def test_a_form_of_another_site_changes_nothing(page: TestClient, folder: Path, path: str) -> None:
    before = {file: file.read_bytes() for file in folder.iterdir()}
    sent = {"from": "job.yaml", "key": key_of(page), "who": "eve", "job/name": "X-1"}
    for headers in (
        {"sec-fetch-site": "cross-site"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost:9999"},
        {"origin": "http://["},
        {"origin": ""},
    ):
        assert page.post(path, data=sent, headers=headers).status_code == 403
    assert page.post(path, data=sent | {"key": ""}).status_code == 403
    assert page.post(path, data=sent | {"key": "0" * 64}).status_code == 403
    assert {file: file.read_bytes() for file in folder.iterdir()} == before


def test_a_key_of_another_session_opens_nothing(page: TestClient) -> None:
    key = key_of(page)
    page.cookies.clear()
    page.get("/")
    sent = {"from": "job.yaml", "key": key, "job/name": "X-1"}
    assert page.post("/keep", data=sent).status_code == 403
    assert page.post("/keep", data=sent | {"key": key_of(page)}).status_code == 303


@pytest.mark.parametrize(
    "name",
    [
        "../secret.yaml", "/etc/passwd", "..\\secret.yaml", "demo/../../secret.yaml", "link.yaml",
        "%2e%2e/secret.yaml", "\x00", ".hidden.yaml", "x" * 5_000,
    ],
)  # fmt: skip
def test_no_file_outside_the_folder_is_read(page: TestClient, folder: Path, name: str) -> None:
    (folder / "link.yaml").symlink_to(folder.parent / "secret.yaml")
    (folder / ".hidden.yaml").write_text("unit: {name: secret}\n", encoding="utf-8")
    shown = [
        page.get("/measure", params={"from": name}),
        page.get("/measure", params={"unit": name}),
        page.get("/fit", params={"unit": "unit.yaml", "shelf": name, "job/gaps/low/gap/at": "1"}),
        page.get("/api/asked", params={"unit": name}),
        page.post("/api/fit", json={"unit": name, "shelf": "shelf.yaml", "job": {"gaps": {}}}),
        page.post("/api/fit", json={"unit": "unit.yaml", "shelf": name, "job": {"gaps": {}}}),
    ]
    for answer in shown[:2] + shown[3:5]:
        assert answer.status_code == 422
    for answer in shown:
        assert answer.status_code in (200, 422)
        assert "Harrow" not in answer.text or answer is shown[2]
        assert not re.search(r"root:|name: secret|<h1>secret", answer.text)


def test_a_shelf_on_a_server_is_not_named_by_a_visitor(page: TestClient) -> None:
    sent = {
        "unit": "unit.yaml",
        "shelf": "postgresql://evil.example/x",
        "job": {"gaps": {"low": {}}},
    }
    answer = page.post("/api/fit", json=sent)
    assert answer.status_code == 422
    assert "named when the page is started" in answer.text


def test_what_somebody_types_is_never_markup(page: TestClient) -> None:
    fields = {
        "from": "job.yaml", "job/name": SCRIPT, "job/note": f'"{SCRIPT}', "job/due": SCRIPT,
        "job/gaps/low/gap/at": SCRIPT, f"job/gaps/{SCRIPT}/gap/at": "1", "gap": SCRIPT,
        "lengths": SCRIPT, "length": SCRIPT, f"job/{SCRIPT}": SCRIPT, "shelf": SCRIPT,
        "best": SCRIPT, "seen": SCRIPT, "job/gaps/low/trial/parts/0": SCRIPT,
    }  # fmt: skip
    for path in ("/measure", "/fit", "/check", "/checked", "/sheet"):
        assert "<script>alert" not in page.get(path, params=fields).text
    named = {"from": "job.yaml", "job/name": SCRIPT, "job/note": f"{SCRIPT} &"}
    for path in ("/fit", "/sheet"):
        answer = page.get(path, params=named)
        assert answer.status_code == 200
        assert "&lt;script&gt;alert(1)" in answer.text
        assert "<script>alert" not in answer.text


def test_names_in_files_are_never_markup(page: TestClient, folder: Path) -> None:
    text = (folder / "unit.yaml").read_text(encoding="utf-8")
    evil = text.replace("name: Harrow 4", f'name: "{SCRIPT}"').replace(
        "low friction", f'"{SCRIPT}"'
    )
    (folder / f"{SCRIPT.replace('/', '')}.yaml").write_text(evil, encoding="utf-8")
    front = page.get("/").text
    assert "<script>" not in front.replace('<script src="/bench.js" defer></script>', "")
    assert "&lt;script&gt;" in front


def test_every_answer_carries_the_headers_that_guard_a_browser(page: TestClient) -> None:
    for path in ("/", "/fit?from=job.yaml", "/nothing", "/api/files", "/bench.js", "/keep"):
        headers = page.get(path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
        assert headers["cache-control"] == "no-store"
        assert "server" not in headers
    sheet = page.get("/sheet?from=job.yaml").headers["content-security-policy"]
    assert "script-src" not in sheet
    assert "default-src 'none'" in sheet
    cookie = TestClient(page.app, base_url="http://localhost").get("/").headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie


def test_looking_changes_nothing(page: TestClient, folder: Path) -> None:
    before = {file: file.read_bytes() for file in folder.iterdir()}
    for path in CHANGES:
        assert page.get(f"{path}?from=job.yaml&key={key_of(page)}&who=eve").status_code == 405
    for path in ("/", "/measure", "/fit", "/check", "/sheet"):
        page.get(f"{path}?from=job.yaml&job/name=other")
    assert {file: file.read_bytes() for file in folder.iterdir()} == before


@pytest.mark.face
def test_large_and_piecemeal_bodies_are_refused(page: TestClient) -> None:
    large = b"x" * (MOST_BYTES + 1)
    assert page.post("/api/fit", content=large).status_code == 413
    assert page.post("/keep", content=large, headers=FORM).status_code == 413
    assert page.post("/api/fit", content=iter([b"{}"])).status_code == 411
    assert page.request("GET", "/api/files", content=b"{}").status_code == 400
    many = "&".join(f"job/x{nth}=1" for nth in range(guard.MOST_FIELDS + 1))
    for path in ("/keep", "/api/fit"):
        answer = page.post(path, content=many, headers=FORM)
        assert answer.status_code == 413
        assert "more than 20,000 fields; take the command for so many" in answer.text


def test_a_form_of_too_many_fields_is_refused_at_the_door_too(lan: TestClient) -> None:
    many = "&".join(["token=x"] * (guard.MOST_FIELDS + 1))
    answer = lan.post("/enter", content=many, headers=FORM)
    assert (answer.status_code, "more than 20,000 fields" in answer.text) == (413, True)


def test_on_a_network_it_answers_to_its_own_names_alone() -> None:
    names = hosts_of(("bench.shop",))
    assert {"localhost", "127.0.0.1", "bench.shop", socket.gethostname().lower()} <= {*names}
    assert not {"0.0.0.0", "*", ""} & {*names}  # noqa: S104


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """A page that was really started, beside a file that is none of its business."""
    folder = tmp_path_factory.mktemp("shop")
    write_demo(folder / "demo")
    (folder / "secret.yaml").write_text("unit: {name: secret}\n", encoding="utf-8")
    with served(folder / "demo") as port:
        yield port


def spoken(port: int, request: str, seconds: float = 5.0) -> str:
    """Say something to a port as it stands, and listen."""
    with socket.create_connection(("127.0.0.1", port), timeout=seconds) as connection:
        connection.sendall(request.encode())
        return connection.recv(1_000).decode("utf-8", "replace")


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.yaml", "/%2e%2e/secret.yaml", "/%2e%2e%2fsecret.yaml", "/bench.css/../secret",
        "/bench.css%00.html", "//etc/passwd", "/job.yaml", "/..\\secret.yaml", "/./unit.yaml",
    ],
)  # fmt: skip
def test_no_address_leads_to_a_file(port: int, path: str) -> None:
    answer = spoken(port, f"GET {path} HTTP/1.1\r\nHost: localhost\r\n\r\n")
    assert answer.startswith("HTTP/1.1 404"), answer


def test_a_malformed_request_is_refused(port: int) -> None:
    both = "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n"
    for request in (
        "GET /\r\n\r\n",
        "POST /api/fit HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n",
        "GET / HTTP/1.1\r\nHost: localhost\r\nHost: evil.example\r\n\r\n",
        f"GET / HTTP/1.1\r\nHost: localhost\r\nX: {'x' * 200_000}\r\n\r\n",
        f"POST /api/fit HTTP/1.1\r\nHost: localhost\r\n{both}\r\n2\r\n{{}}\r\n0\r\n\r\n",
    ):
        assert spoken(port, request).startswith(("HTTP/1.1 400", "HTTP/1.1 411"))


def test_a_request_that_never_ends_is_given_up(port: int) -> None:
    """A slow body is told so, a slow head is hung up on, and others are served meanwhile."""
    body = "POST /api/fit HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\n{"
    with ThreadPoolExecutor() as at_once:
        slow = at_once.submit(spoken, port, body, BODY_SECONDS + 5)
        head = at_once.submit(spoken, port, "GET / HTTP/1.1\r\nHost: loc", BODY_SECONDS + 5)
        quick = spoken(port, "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
        assert quick.startswith("HTTP/1.1 200")
        assert not slow.done()
        assert slow.result().startswith("HTTP/1.1 408")
        assert head.result() == ""
