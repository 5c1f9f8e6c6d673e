"""The options of `stock shelf` as written; it imports little, for the command line."""

from __future__ import annotations

from typing import TypedDict


class StockShelfOptions(TypedDict):
    """The options of `stock shelf` as written."""

    history: tuple[str, ...]
    shelf: str | None
    jobs: str
    lead_time: int
    share: str | None
    all_weeks: str | None
    wait_cost: str | None
    keep_cost: str
    seed: int
    scenarios: int
    weeks: int
    workers: int | None
    cluster: str | None
