"""A maker who asks for the nearest to the aim: it comes before what would stay in."""

from __future__ import annotations

import pytest

from solver.builds import patterns
from solver.problem.solution import Fit
from tests.oracles.against_brute import named, solve
from tests.oracles.jobs_by_hand import case_from

JOB = """\
length: mm
unit:
  certainty: none  # nearest to a limit is what is asked for
  families: {washer: {kind: washer, sizes: {a: 1.50, b: 1.58, c: 1.66, d: 1.73}}}
  end plays:
    output:
      window: {gap: 0.10 to 0.50, aim: tight, nearest: NEAREST}
      stack: [washer]
shelf: {washer: {a: 1, b: 1, c: 1, d: 1}}
job: {gaps: {output: {trial: [c], gap: 0.18, now: trial}}}
"""


@pytest.mark.parametrize("most", [pytest.param(5_000, id="listed"), pytest.param(0, id="counted")])
@pytest.mark.parametrize(("nearest", "size"), [("no", "c"), ("yes", "d")])
def test_nearest_comes_before_what_would_stay_in(
    most: int, nearest: str, size: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    answer = solve(case_from(JOB.replace("NEAREST", nearest)))
    assert isinstance(answer, Fit)
    ((_, lies),) = named(answer.instance, answer.build)
    assert lies["washer"][0][1] == size  # type: ignore[index]
