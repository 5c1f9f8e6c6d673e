"""A new, empty shelf for a test, on each database in turn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory import create_shelf, open_shelf
from tests.inventory.shelves import DATABASES, fresh_address

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from inventory import Shelf


@pytest.fixture(params=DATABASES)
def nowhere(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An address where no shelf is yet."""
    with fresh_address(request.param, tmp_path) as address:
        yield address


@pytest.fixture
def address(nowhere: str) -> str:
    """The address of an empty shelf."""
    create_shelf(nowhere)
    return nowhere


@pytest.fixture
def shelf(address: str) -> Iterator[Shelf]:
    """An empty shelf, open."""
    with open_shelf(address) as opened:
        yield opened
