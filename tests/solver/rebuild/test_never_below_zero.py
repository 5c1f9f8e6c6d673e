"""A pack whose window is open below: its gap stops at zero, whatever else would be better."""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from solver.builds import patterns
from solver.problem.solution import Fit, NoFit
from tests.amounts import few, share
from tests.oracles.against_brute import TriedJob, brute_of, differences, solve
from tests.oracles.jobs_by_hand import case_from
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from tests.oracles.brute_force import Brute
    from tests.oracles.random_jobs import RandomJob
    from tests.oracles.random_parts import Spec

SEEDS = few(range(800))
FLOORS = {Fit: 120, NoFit: 120}


def opened(job: RandomJob) -> RandomJob:
    """Open the windows of a job's packs below, and take something off their spaces."""
    document = deepcopy(job.document)
    for pack in document["unit"]["packs"].values():
        pack["space"] = f"{pack['space']} - 0.2 mm"
        for spec in (pack, *pack.get("layouts", {}).values()):
            if "window" in spec and spec["window"].get("on") != "height":
                _open(spec["window"])
    return replace(job, document=document)


def _open(window: Spec) -> None:
    low, _, high = window["gap"].partition(" to ")
    if high and not low.startswith("-"):
        window |= {"gap": f"at most {high}", "scale": "0.200 mm"}
        if window["aim"] in ("middle", "tight"):
            window["aim"] = "loose"


def held(brute: Brute) -> bool:
    """Whether zero alone keeps some filling out."""
    fillings = [filling for name in brute.gaps for filling in brute.fillings(name)]
    return any(filling.gap < 0 and filling.stack.low == 0 for filling in fillings)


@pytest.mark.parametrize("most", [pytest.param(5_000, id="listed"), pytest.param(0, id="counted")])
def test_a_pack_open_below_stops_at_zero(most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patterns, "MOST_PATTERNS", most)
    wrong: list[str] = []
    taken: Counter[type] = Counter()
    for seed in SEEDS:
        case = opened(random_job(seed)).case()
        brute = brute_of(case)
        if brute is None or not held(brute):
            continue
        best, answer = brute.best(), solve(case)
        tried = TriedJob(seed, frozenset(), case, best, None if best else brute.nearest())
        wrong += differences(tried, answer)
        taken[type(answer)] += 1
    assert wrong == []
    assert {kind: taken[kind] for kind, floor in FLOORS.items() if taken[kind] < share(floor)} == {}


STACK = """\
length: mm
unit:
  families:
    steel: {kind: steel, sizes: {a: 1.80, b: 2.00, c: 2.30}}
    washer: {kind: washer, sizes: {a: 1.80, b: 2.00, c: 2.30}}
  GAPS:
    brake: {window: {gap: WINDOW, scale: 0.40}, space: "1.95 mm", stack: [PART]}
shelf: {PART: {a: 2, b: 2, c: 2}}
job: {gaps: {brake: {}}}
"""


@pytest.mark.parametrize(
    ("gaps", "window", "left"),
    [
        pytest.param("packs", "at most 0.30 mm, aim: -0.05 mm", "0.15", id="a pack stops at zero"),
        pytest.param("packs", "at most -0.02 mm, aim: -0.10 mm", "-0.35", id="a preload goes on"),
        pytest.param("packs", "-0.40 to 0.30 mm", "-0.35", id="a negative end is written"),
        pytest.param("end plays", "at most 0.30 mm, aim: -0.05 mm", "-0.05", id="an end play"),
    ],
)
def test_only_a_pack_without_a_low_end_stops_at_zero(gaps: str, window: str, left: str) -> None:
    part = "steel" if gaps == "packs" else "washer"
    text = STACK.replace("GAPS", gaps).replace("WINDOW", window).replace("PART", part)
    answer = solve(case_from(text))
    assert isinstance(answer, Fit)
    assert float(answer.gaps[0] * answer.instance.step / 10**6) == float(left)
