"""A job whose shelf is a ledger."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench


@pytest.fixture
def job(bench: Bench, drum: str) -> str:
    """The drum's job, its shelf being the ledger."""
    file = bench.write("job.yaml", drum)
    bench.shelf("import", file, "--mode", "add")
    shelf = drum[drum.index("shelf:") : drum.index("job:")]
    return bench.write("job.yaml", drum.replace(shelf, "shelf: shop.db\n"))
