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


@pytest.fixture
def visit(browser: Browser, address: str) -> Iterator[Visitor]:
    """Open an address of the page as a person would: gives the page, its troubles collected."""
    troubles: list[str] = []
    contexts = []

    def opened(path: str = "/", *, width: int = 820, **settings: Any) -> Page:  # noqa: ANN401
        context = browser.new_context(
            viewport={"width": width, "height": 1180}, base_url=address, **settings
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(20_000)
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.on("console", lambda said: troubles.append(said.text) if refused(said.text) else None)
        page.on("request", lambda asked: troubles.append(asked.url) if foreign(asked.url) else None)
        page.goto(path)
        return page

    def foreign(url: str) -> bool:
        return not url.startswith((address, "data:"))

    yield opened
    for context in contexts:
        context.close()
    assert troubles == []


def refused(said: str) -> bool:
    """Whether the browser says that it held something back that the page wanted."""
    return "Content Security Policy" in said or "Uncaught" in said
