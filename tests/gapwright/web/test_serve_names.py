"""Names that are no text: of files in the served folder, and in the addresses of pages."""

from __future__ import annotations

import os
import re
from contextlib import closing
from http.client import HTTPConnection
from typing import TYPE_CHECKING
from urllib.parse import quote, urlencode

import pytest
from fastapi.testclient import TestClient

from gapwright.web.start import open_shop
from tests.gapwright.web.sent_forms import form_at
from tests.gapwright.web.serve_command import served

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fastapi import FastAPI

ODD = (b"caf\xe9.yaml", b"past\xff.csv", b"shelf\xfe.db", b"d\xe9pot/job.yaml", b"\xed\xa0\x80.yml")
SHOWN = (
    r"caf\udce9.yaml", r"past\udcff.csv", r"shelf\udcfe.db", r"d\udce9pot/job.yaml",
    r"\udced\udca0\udc80.yml",
)  # fmt: skip
MISNAMED = "has a name that is not UTF-8; rename it"
NAMES = (
    "\r\nX-Evil: yes", "a\rb", "a\nb", "\0", "a\0b", "\x7f", "é", "→", "\u2028", "?x=1", "#x", "%",
    "%0D%0A", "..", " ", '"', "\\", "x" * 5_000, "\ud800", "\x85",
)  # fmt: skip


@pytest.fixture
def app(folder: Path) -> FastAPI:
    app, _ = open_shop(folder)
    return app


@pytest.fixture
def page(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(
        app, base_url="http://localhost", follow_redirects=False, raise_server_exceptions=False
    ) as client:
        yield client


def named(app: FastAPI) -> list[tuple[str, str]]:
    """Every address of the application with a name in it, with the method it is asked by."""
    found = [
        (route.path, next(iter(route.methods - {"HEAD"})))  # type: ignore[attr-defined]
        for route in app.routes
        if "{" in route.path  # type: ignore[attr-defined]
    ]
    assert len(found) >= 3
    return found


def misname(folder: Path) -> None:
    """Put files of odd names beside those of the demo."""
    for name in ODD:
        file = folder / os.fsdecode(name)
        file.parent.mkdir(exist_ok=True)
        file.write_bytes((folder / "job.yaml").read_bytes())


def test_a_file_name_that_is_not_utf_8_is_told_and_stops_no_page(
    app: FastAPI, page: TestClient, folder: Path
) -> None:
    asked = ("", "?from=job.yaml", "?unit=unit.yaml")
    paths = [f"{path}{fields}" for path in addresses(app) for fields in asked]
    before = [page.get(path).status_code for path in paths]
    assert max(before) < 500
    misname(folder)
    assert [page.get(path).status_code for path in paths] == before
    for path in ("/", "/files"):
        told = re.sub("<.*?>", "", page.get(path).text)
        for name in SHOWN:
            assert f"{name} {MISNAMED}" in re.sub(r"\s+", " ", told)
    wrong = page.get("/api/files").json()["cannot be read"]
    assert [one for one in wrong if one["sentence"] != MISNAMED] == []
    assert sorted(one["file"] for one in wrong) == sorted(SHOWN)
    assert "job.yaml" in page.get("/plan").text
    assert "udc" not in page.get("/plan").text + page.get("/kit?unit=unit.yaml").text


def test_a_file_of_such_a_name_is_not_opened_by_how_it_is_shown(
    page: TestClient, folder: Path
) -> None:
    misname(folder)
    for link in re.findall(r'href="(/edit[^"]*udc[^"]*)"', page.get("/").text):
        answer = page.get(link)
        assert (answer.status_code, MISNAMED in answer.text) == (422, True)
    for name in SHOWN:
        for path, field in (("/measure", "from"), ("/edit", "file"), ("/api/asked", "unit")):
            answer = page.get(path, params={field: name})
            assert (answer.status_code, MISNAMED in answer.text) == (422, True)


def addresses(app: FastAPI) -> list[str]:
    """Every address of the application that is looked at."""
    found = [
        re.sub(r"\{.*?\}", "x", route.path)  # type: ignore[attr-defined]
        for route in app.routes
        if "GET" in route.methods  # type: ignore[attr-defined]
    ]
    assert len(found) >= 20
    return found


class Visitor:
    """Asks a page that was really started, with a session and its key; reads answers whole."""

    def __init__(self, port: int) -> None:
        self.port, self.cookie, self.key = port, "", ""
        _, headers, text = self.ask("GET", "/fit?from=job.yaml")
        self.cookie = headers["set-cookie"].partition(";")[0]
        self.key = dict(form_at(text, "/keep").fields)["key"]

    def ask(self, method: str, address: str) -> tuple[int, dict[str, str], str]:
        """Give the status of an answer, its headers and its text."""
        form = {"Content-Type": "application/x-www-form-urlencoded"} if method == "POST" else {}
        sent = urlencode({"key": self.key}) if method == "POST" else None
        with closing(HTTPConnection("localhost", self.port, timeout=10)) as connection:
            connection.request(method, address, sent, form | {"Cookie": self.cookie})
            answer = connection.getresponse()
            headers = {name.lower(): value for name, value in answer.getheaders()}
            return answer.status, headers, answer.read().decode()


def test_a_name_in_an_address_is_answered_and_leads_nowhere_else(
    app: FastAPI, folder: Path
) -> None:
    with served(folder) as port:
        visitor = Visitor(port)
        for path, method in named(app):
            for name in NAMES:
                spelled = quote(name, safe="", errors="surrogatepass")
                address = re.sub(r"\{.*?\}", spelled, path)
                status, headers, _ = visitor.ask(method, address)
                assert status < 500, (method, address)
                assert "x-evil" not in headers, (method, address)
                led = headers.get("location")
                if led:
                    assert led in (
                        address.removesuffix("/stop"),
                        "/plan/%EF%BF%BD%EF%BF%BD%EF%BF%BD",
                    )
                    assert visitor.ask("GET", led)[0] < 500
