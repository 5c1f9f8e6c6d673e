"""The shop's folder and its bench page, as most tests of the pages begin."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from fastapi.testclient import TestClient

from gapwright.demo import write_demo
from gapwright.web.start import open_shop

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The demo, with a file beside its folder that no page may show."""
    write_demo(tmp_path / "demo")
    (tmp_path / "secret.yaml").write_text("unit: {name: secret}\n", encoding="utf-8")
    return tmp_path / "demo"


@pytest.fixture
def page(folder: Path) -> Iterator[TestClient]:
    """The bench page of the folder, as this computer sees it."""
    app, _ = open_shop(folder)
    with TestClient(app, base_url="http://localhost") as client:
        yield client
