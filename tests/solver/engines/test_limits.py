"""Out of time or stopped by Ctrl-C: the best so far, never called proved, or undecided."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from solver import Fit, Limits, Undecided, fit
from solver.builds import patterns
from solver.engines.cp_sat import Program
from solver.engines.limits import Outcome
from solver.problem import judge
from tests.amounts import few, share
from tests.oracles.against_brute import posed
from tests.oracles.random_jobs import hard_task, random_job

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.engines.expressions import Expression
    from solver.engines.limits import Clock

HOME = Path(__file__).parents[3]
STOPPED = """
import ortools.sat.python.cp_model  # slow to import, and not what is to be stopped
from solver import Fit, Limits, fit; from solver.problem import judge
from tests.oracles.random_jobs import hard_task
instance = hard_task()
print("started", flush=True)
answer = fit(instance, Limits(seconds=120))
fine = isinstance(answer, Fit) and not judge.faults(instance, answer.build)
print(type(answer).__name__, fine and "allowed", fine and answer.proved)
"""


def test_without_any_time_a_hard_job_is_undecided_and_not_said_not_to_fit() -> None:
    assert isinstance(fit(hard_task(), Limits(seconds=0.0)), Undecided)


def test_an_answer_out_of_time_is_allowed_and_not_called_proved() -> None:
    instance = hard_task()
    for seconds in (0.5, 1.0, 2.0, 4.0, 8.0, 16.0):
        began = time.monotonic()
        answer = fit(instance, Limits(seconds=seconds))
        assert time.monotonic() - began < seconds + 5
        if isinstance(answer, Fit):
            assert not answer.proved
            assert judge.faults(instance, answer.build) == []
            assert answer.values == judge.values(instance, answer.build)
            assert list(answer.bounds) <= list(answer.values)
            return
        assert isinstance(answer, Undecided)
    pytest.fail("no build was found in 16 seconds")


def stopping(
    at: int, outcome: Callable[[Outcome], Outcome]
) -> Callable[[Program, Expression, Clock], Outcome]:
    """An engine whose search number `at` ends early."""
    original = Program.least
    calls = 0

    def least(self: Program, expression: Expression, clock: Clock) -> Outcome:
        nonlocal calls
        calls += 1
        found = original(self, expression, clock)
        return outcome(found) if calls == at else found

    return least


EARLY: dict[str, Callable[[Outcome], Outcome]] = {
    "nothing": lambda _: Outcome("unknown", (), 0),
    "something": lambda o: Outcome("feasible", o.values, o.bound - 1) if o.values else o,
}


@pytest.mark.parametrize(("most", "at", "floor"), [(5_000, 1, 8), (0, 1, 8), (0, 2, 8), (0, 3, 1)])
@pytest.mark.parametrize("found", EARLY)
def test_what_is_said_of_a_search_that_ends_early_holds(
    at: int, found: str, most: int, floor: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    stopped = 0
    for seed in few(range(50)):
        instance = posed(random_job(seed).case())
        best = fit(instance)
        if not isinstance(best, Fit):
            continue
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Program, "least", stopping(at, EARLY[found]))
            answer = fit(instance)
        if (at, found) == (1, "nothing"):
            assert isinstance(answer, Undecided)
            stopped += 1
        else:
            assert isinstance(answer, Fit)
            stopped += not answer.proved
            check_stopped(answer, best)
    assert stopped >= share(floor)


def check_stopped(answer: Fit, best: Fit) -> None:
    """A build that is allowed, no better than the best, with bounds that are not above it."""
    assert judge.faults(answer.instance, answer.build) == []
    assert answer.values == judge.values(answer.instance, answer.build)
    assert answer.values >= best.values
    held = answer.bounds[:-1]
    assert held == best.values[: len(held)]
    assert answer.bounds[-1:] <= best.values[len(held) : len(held) + 1]
    assert answer == best or not answer.proved


def test_ctrl_c_gives_the_best_build_so_far() -> None:
    for seconds in (1, 3, 9, 27, 81):
        words = interrupted_after(seconds)
        if words != ["Undecided", "False", "False"]:
            assert words == ["Fit", "allowed", "False"]
            return
    pytest.fail("no build was found in 81 seconds")


def interrupted_after(seconds: float) -> list[str]:
    with subprocess.Popen(
        [sys.executable, "-c", STOPPED], cwd=HOME, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "started\n"
        time.sleep(seconds)
        assert process.poll() is None, "the job was not hard enough to be stopped"
        process.send_signal(signal.SIGINT)
        out, _ = process.communicate(timeout=20)
    assert process.returncode == 0
    return out.split()
