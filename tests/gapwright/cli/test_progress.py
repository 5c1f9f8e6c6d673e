"""Ctrl-C: the first ends a search with what it has, a second the command; none kills in between."""

from __future__ import annotations

import signal
from typing import TYPE_CHECKING

import pytest

from gapwright.cli.progress import progress_shown
from solver.engines.limits import Watch

if TYPE_CHECKING:
    from tests.gapwright.conftest import Solve


def test_the_first_stops_the_watch_and_the_second_whoever_does_not_look_at_it() -> None:
    watch = Watch()
    with progress_shown(watch):
        signal.raise_signal(signal.SIGINT)
        assert watch.stopped
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)


def test_after_a_search_it_is_heard_as_before_it(solve: Solve, drum: str) -> None:
    """Left to itself CP-SAT puts back the system's ear, by which the next Ctrl-C kills."""
    solve(drum)
    with pytest.raises(KeyboardInterrupt):
        signal.raise_signal(signal.SIGINT)
