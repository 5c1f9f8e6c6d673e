"""The judge refuses every kind of wrong build, and no answer of the engine passes without it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from solver import Fit, fit
from solver.engines import descent
from solver.engines.expressions import value_of
from solver.problem import judge
from solver.problem.instance import GapBuild
from solver.rebuild import model
from specs.errors import JudgeError
from specs.files.read import case_of
from specs.formats.yaml import parse
from tests.oracles.against_brute import posed

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.problem.instance import Build, Instance

JOB = """
length: mm
unit:
  families:
    steel: {kind: steel, sizes: {thin: 1.6, thick: 1.8}}
    friction: {kind: friction, fixed: 2.0}
    ring: {kind: ring, sizes: {A: 1.5, B: 1.6}}
    washer: {kind: washer, sizes: {A: 1.0, B: 1.2}}
    shim: {kind: shim, sizes: {A: 0.1}}
  shared parts: {joint: {family: washer}}
  packs:
    low drum:
      window: 0.2 to 0.5
      space: depth
      readings: {depth: depth}
      stack: [friction, steel, friction, {part: steel, only: thick}, ring, joint]
    high drum:
      window: 0.2 to 0.5
      space: depth
      readings: {depth: depth}
      layouts:
        one: {rank: 0, stack: [friction, steel, {part: shim, how many: 0 to 2}, joint]}
        two: {rank: 1, stack: [ring]}
  rules:
    - {with: ring/B, must: steel/thin}
    - {with: ring/B, never: washer/B}
    - {count: steel/thin, at most: 1, in: low drum}
    - {count: steel/thick, at least: 1}
shelf:
  steel: {thin: 2, thick: 2}
  ring: {A: 1, B: 1}
  washer: {A: 1, B: 1}
  shim: {A: 1}
job:
  gaps:
    low drum: {readings: {depth: 10.2}}
    high drum: {readings: {depth: 5.0}}
"""
RING_A, RING_B, SHIM, THIN, THICK, WASHER_A, WASHER_B = range(7)


@pytest.fixture
def instance() -> Instance:
    return posed(case_of(parse(JOB, "job.yaml")))


def low(steel: int, other: int, ring: int, washer: int) -> GapBuild:
    return GapBuild(0, ((steel,), (other,), (ring,), (washer,)))


def high(steel: int, shims: int, washer: int) -> GapBuild:
    return GapBuild(0, ((steel,), (SHIM,) * shims, (washer,)))


GOOD = (low(THIN, THICK, RING_A, WASHER_A), high(THIN, 1, WASHER_A))


def test_a_right_build_has_no_faults(instance: Instance) -> None:
    assert judge.faults(instance, GOOD) == []
    found = fit(instance)
    assert isinstance(found, Fit)
    assert judge.faults(instance, found.build) == []


@pytest.mark.parametrize(
    ("build", "fault"),
    [
        (GOOD[:1], "not every gap is built"),
        ((GOOD[0], GapBuild(0, ((THIN,), (SHIM,)))), "wrong number of places"),
        ((low(THIN, THIN, RING_A, WASHER_A), GOOD[1]), "a part that is not allowed there"),
        ((low(THIN, THICK, THIN, WASHER_A), GOOD[1]), "a part that is not allowed there"),
        ((GOOD[0], GapBuild(0, ((THIN, THIN), (SHIM,), (WASHER_A,)))), "steel: 2 parts"),
        ((GOOD[0], GapBuild(0, ((), (SHIM,), (WASHER_A,)))), "steel: 0 parts"),
        ((GOOD[0], high(THIN, 3, WASHER_A)), "shim: 3 parts"),
        ((GOOD[0], high(THIN, 2, WASHER_A)), "2 of choice 2 drawn, 1 on hand"),
        ((GOOD[0], high(THIN, 1, WASHER_B)), "gaps disagree on a shared part"),
        ((GOOD[0], GapBuild(1, ((RING_A,),))), "2 of choice 0 drawn, 1 on hand"),
        ((GOOD[0], GapBuild(1, ((RING_B,),))), "high drum: 58 outside its window"),
        ((low(THICK, THICK, RING_A, WASHER_A), GOOD[1]), "low drum: 2 outside its window"),
        (
            (low(THICK, THICK, RING_B, WASHER_A), high(THICK, 0, WASHER_A)),
            "ring/B needs steel/thin",
        ),
        (
            (low(THIN, THICK, RING_B, WASHER_B), high(THIN, 0, WASHER_B)),
            "ring/B never with washer/B",
        ),
        ((low(THIN, THIN, RING_A, WASHER_A), GOOD[1]), "not allowed"),
    ],
)
def test_a_wrong_build_is_refused_with_its_reason(
    instance: Instance, build: Build, fault: str
) -> None:
    assert any(fault in found for found in judge.faults(instance, build))


@pytest.mark.parametrize(
    ("bounds", "words"),
    [({"at most": 0}, "at most 1 of steel/thin"), ({"at least": 2}, "at least 1 of steel/thick")],
)
def test_a_broken_bound_is_refused(instance: Instance, bounds: dict[str, int], words: str) -> None:
    rules = tuple(replace(r, bound=bounds.get(r.kind, r.bound)) for r in instance.rules)
    found = judge.faults(replace(instance, rules=rules), GOOD)
    assert len(found) == 1
    assert words in found[0]


def test_windows_may_be_dropped_and_nothing_else(instance: Instance) -> None:
    narrow = (low(THICK, THICK, RING_A, WASHER_A), GOOD[1])
    assert judge.faults(instance, narrow, windows=False) == []
    assert judge.miss_of(instance, narrow, 0) == 2
    short = (GOOD[0], high(THIN, 2, WASHER_A))
    assert judge.faults(instance, short, windows=False)


def tampered(change: Callable[[Build], Build]) -> Callable[[model.Model, tuple[int, ...]], Build]:
    original = model.Model.read

    def read(self: model.Model, values: tuple[int, ...]) -> Build:
        return change(original(self, values))

    return read


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda b: (b[0], high(THIN, 2, WASHER_A)), "not allowed"),
        (lambda b: (b[0], GOOD[1]), "engine says"),
        (lambda b: (b[0],), "not every gap is built"),
    ],
)
def test_a_wrong_build_of_the_engine_is_never_an_answer(
    instance: Instance,
    change: Callable[[Build], Build],
    words: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(model.Model, "read", tampered(change))
    with pytest.raises(JudgeError, match=words):
        fit(instance)


def test_a_wrong_value_of_the_engine_is_never_an_answer(
    instance: Instance, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(descent, "value_of", lambda e, v: value_of(e, v) + 1)
    with pytest.raises(JudgeError, match="plain integers say"):
        fit(instance)


def test_a_nearest_miss_that_is_a_fit_is_never_an_answer(
    instance: Instance, monkeypatch: pytest.MonkeyPatch
) -> None:
    lost = model.BestBuild("infeasible", None, ())
    monkeypatch.setattr(model.Model, "best", lambda *_: lost)
    with pytest.raises(JudgeError, match="another found a fit"):
        fit(instance)
