"""A real browser before the door of a page on a network, without the token and with it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gapwright.web.app import ENTER, OPEN
from gapwright.web.routes import ROUTES
from gapwright.web.start import open_shop
from tests.amounts import every, some
from tests.gapwright.web.serve_command import served

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

TOKEN = "a-token-of-enough-letters"  # noqa: S105 - of these tests alone
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TURN")
"""Those that a browser lets a page send."""
ASK = """async ([path, method, body]) => {
    const plain = method === "GET" || method === "HEAD";
    const form = { "Content-Type": "application/x-www-form-urlencoded" };
    const sent = plain ? { method } : { method, body, headers: form };
    const answer = await fetch(path, sent);
    return [answer.status, await answer.text()];
}"""


@pytest.fixture
def network(folder: Path) -> Iterator[str]:
    """Where a page for a network is."""
    with served(folder, "--lan", "--token", TOKEN) as port:
        yield f"http://localhost:{port}"


@pytest.fixture
def page(browser: Browser, network: str) -> Iterator[Page]:
    """A browser that was never here."""
    context = browser.new_context(base_url=network)
    yield context.new_page()
    context.close()


def paths(folder: Path) -> list[str]:
    """Every address of the application itself."""
    app, _ = open_shop(folder)
    found = {re.sub(r"\{.*?\}", "x", route.path) for route in app.routes}  # type: ignore[attr-defined]
    assert len(found) >= len(ROUTES)
    return sorted(found)


def look(page: Page, path: str) -> tuple[int, str]:
    """Go to an address; gives the status and the text of what comes."""
    answer = page.goto(path)
    assert answer
    return answer.status, answer.text()


def check_door(page: Page, path: str) -> None:
    """Check that the door stands at an address, and that the browser kept nothing."""
    status, text = look(page, path)
    assert status == 403, path
    assert "token" in text, path
    assert "J-1042" not in text, path
    assert page.context.cookies() == [], path


def test_looking_about_opens_no_door(page: Page, folder: Path) -> None:
    """The page, then its style sheet and its script, then the page again; then all others."""
    check_door(page, "/")
    for path in (*OPEN, "/nothing", "/keep", "/bench.css?x"):
        status, _ = look(page, path)
        assert status == (200 if path.partition("?")[0] in OPEN else 403)
        assert page.context.cookies() == [], path
        check_door(page, "/")
    page.reload()
    page.go_back()
    for path in every(paths(folder)):
        if path not in OPEN:
            check_door(page, path)


def test_no_method_that_a_page_can_send_opens_the_door(page: Page, folder: Path) -> None:
    before = {file: file.read_bytes() for file in folder.iterdir()}
    check_door(page, "/")
    for nth, path in enumerate(paths(folder)):
        for method in some(METHODS, nth):
            status, text = page.evaluate(ASK, [path, method, f"token={TOKEN}&job/name=X-1"])
            assert status in (403, 405) or path in OPEN, (path, method)
            assert "J-1042" not in text
            assert page.context.cookies() == []
    check_door(page, "/")
    assert {file: file.read_bytes() for file in folder.iterdir()} == before


def test_the_token_typed_at_the_door_opens_it(page: Page) -> None:
    check_door(page, "/fit?from=job.yaml")
    other = page.context.new_page()
    check_door(other, "/")
    page.get_by_label("token").fill("a-token-of-wrong-letters")
    page.get_by_role("button", name="come in").click()
    assert "this is not the token" in page.inner_text("#wrong")
    assert page.context.cookies() == []
    page.get_by_label("token").fill(TOKEN)
    page.get_by_role("button", name="come in").click()
    page.get_by_role("link", name="J-1042").first.wait_for()
    (cookie,) = page.context.cookies()
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
    other.get_by_label("token").fill(TOKEN)
    other.get_by_role("button", name="come in").click()
    other.get_by_role("link", name="J-1042").first.wait_for()
    assert page.context.cookies() == [cookie]
    page.context.clear_cookies()
    check_door(page, "/")
    assert page.evaluate(ASK, [ENTER, "PUT", f"token={TOKEN}"])[0] == 403
    assert page.context.cookies() == []
