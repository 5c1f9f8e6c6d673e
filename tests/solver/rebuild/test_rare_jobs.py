"""Roads that random jobs hardly take, each against trying everything."""

from __future__ import annotations

import pytest

from solver import Fit, NoFit
from solver.builds import patterns
from tests.oracles.against_brute import differences, solve
from tests.oracles.jobs_by_hand import (
    ABSENT,
    FEWER,
    LEAVES,
    NAMED,
    ONE_SHIM,
    REACHED,
    RIVALS,
    WAITS,
    WORKS,
    tried_by_hand,
)

LISTED, COUNTED = 5_000, 0


@pytest.mark.parametrize(
    ("text", "most", "kind"),
    [
        pytest.param(RIVALS, LISTED, NoFit, id="rivals, listed"),
        pytest.param(RIVALS, COUNTED, NoFit, id="rivals, counted"),
        pytest.param(WORKS, LISTED, Fit, id="works, listed"),
        pytest.param(WORKS, COUNTED, Fit, id="works, counted"),
        pytest.param(ONE_SHIM, LISTED, NoFit, id="one shim, listed"),
        pytest.param(ONE_SHIM, COUNTED, NoFit, id="one shim, counted"),
        pytest.param(FEWER, LISTED, Fit, id="fewer, listed"),
        pytest.param(FEWER, COUNTED, Fit, id="fewer, counted"),
        pytest.param(ABSENT, LISTED, NoFit, id="absent, listed"),
        pytest.param(ABSENT, COUNTED, NoFit, id="absent, counted"),
        pytest.param(LEAVES, LISTED, Fit, id="leaves, listed"),
        pytest.param(LEAVES, COUNTED, Fit, id="leaves, counted"),
        pytest.param(REACHED, LISTED, Fit, id="reached, listed"),
        pytest.param(REACHED, COUNTED, Fit, id="reached, counted"),
        pytest.param(WAITS, LISTED, Fit, id="waits, listed"),
        pytest.param(WAITS, COUNTED, Fit, id="waits, counted"),
        pytest.param(NAMED, LISTED, Fit, id="named, listed"),
        pytest.param(NAMED, COUNTED, Fit, id="named, counted"),
    ],
)
def test_a_job_by_hand_is_answered_as_brute_force_answers_it(
    text: str, most: int, kind: type, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    tried = tried_by_hand(text)
    answer = solve(tried.case)
    assert differences(tried, answer) == []
    assert isinstance(answer, kind)
