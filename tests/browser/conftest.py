"""A real browser before a page that was really started; skipped only where no browser is."""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import sync_playwright

from gapwright.demo import write_demo
from gapwright.paper.pdf import BROWSERS, NAMED
from tests.commands import ran
from tests.gapwright.web.serve_command import served

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    Visitor = Callable[..., Page]

FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage",
)  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The browser that is installed; where one is named, its absence is a failure."""
    named = os.environ.get(NAMED)
    found = shutil.which(named) if named else next(filter(None, map(shutil.which, BROWSERS)), None)
    if found is None:
        assert not named, f"{NAMED} names {named}, and there is no such program"
        pytest.skip("no Chromium, Chrome or Edge here")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=[*FLAGS])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's files, with its shelf as a ledger beside them."""
    folder = tmp_path_factory.mktemp("shop") / "demo"
    write_demo(folder)
    for words in ("init shop.db", "import shop.db shelf.yaml --mode add --unit unit.yaml"):
        done = ran("shelf", *words.split(), cwd=folder, settings={"GAPWRIGHT_WHO": "mary"})
        assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="session")
def address(folder: Path) -> Iterator[str]:
    """Where the page is."""
    with served(folder) as port:
        yield f"http://localhost:{port}"


@pytest.fixture(scope="module")
def window(browser: Browser, address: str) -> Iterator[Page]:
    """A window that many tests share, for a new one takes a second; see `leave`."""
    context = browser.new_context(base_url=address)
    yield context.new_page()
    context.close()


def leave(window: Page, address: str) -> None:
    """Leave a window as if nobody had been there: nothing open, nothing kept, nothing held up."""
    window.unroute_all()
    window.context.set_offline(False)
    window.goto("about:blank")
    devtools = window.context.new_cdp_session(window)
    asked = {"origin": address, "storageTypes": "all"}
    devtools.send("Storage.clearDataForOrigin", asked)
    devtools.detach()
    window.context.clear_cookies()


@pytest.fixture
def visit(browser: Browser, address: str, window: Page) -> Iterator[Visitor]:
    """Open an address of the page as a person would: gives the page, its troubles collected.

    A browser with other settings, or a second one in a test, has a window of its own.
    """
    troubles: list[str] = []
    pages: list[Page] = []

    def opened(path: str = "/", *, width: int = 820, **settings: Any) -> Page:  # noqa: ANN401
        if settings or pages:
            page = browser.new_context(base_url=address, **settings).new_page()
        else:
            page = window
        pages.append(page)
        page.set_viewport_size({"width": width, "height": 1180})
        page.set_default_timeout(20_000)
        for event, hear in hears.items():
            page.on(event, hear)  # type: ignore[call-overload]
        page.goto(path)
        return page

    def foreign(url: str) -> bool:
        return not url.startswith((address, "data:"))

    hears: dict[str, Callable[..., object]] = {
        "pageerror": lambda error: troubles.append(str(error)),
        "console": lambda said: troubles.append(said.text) if refused(said.text) else None,
        "request": lambda asked: troubles.append(asked.url) if foreign(asked.url) else None,
    }
    yield opened
    for page in pages:
        if page is not window:
            page.context.close()
            continue
        for event, hear in hears.items():
            page.remove_listener(event, hear)
        leave(page, address)
    assert troubles == []


def refused(said: str) -> bool:
    """Whether the browser says that it held something back that the page wanted."""
    return "Content Security Policy" in said or "Uncaught" in said
