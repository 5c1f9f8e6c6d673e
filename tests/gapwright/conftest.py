"""What the tests of the faces share: one small drum, and solving a text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import pytest

from gapwright.fit.service import fit_case
from specs.files.read import case_of
from specs.formats.yaml import parse
from tests.gapwright.bench import Bench

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from gapwright.fit.report import Report
    from solver.engines.limits import Limits


class Solve(Protocol):
    """Solves a job file's text."""

    def __call__(self, text: str, limits: Limits | None = None) -> Report: ...


DRUM = """\
length: in
unit:
  name: Harrow 4
  gauges: {feeler: .001}
  families:
    apply plate: {kind: apply plate, fixed: .1000}
    friction: {kind: friction, fixed: .0800}
    drum steel: {kind: steel, also called: separator, sizes: {thick: .0880, thin: .0690}}
    drum plate: {kind: pressure plate, fixed: .1900}
    drum ring: {kind: ring, sizes: [.0600, .0700, .0780]}
  packs:
    low drum:
      ends: [piston, ring]
      window: .060 to .080
      readings: {gap: {what: plate to ring, gauge: feeler}}
      stack: [apply plate, {repeat: 3, of: [friction, drum steel]}, friction, drum plate, drum ring]
shelf:
  drum steel: {thick: {count: 5, bin: B2}, thin: {count: 2, bin: B3}}
  drum ring: {.0600: 1, .0700: {count: 1, bin: C1}, .0780: 2}
job:
  name: J-7
  gaps:
    low drum: {trial: [thick, thick, thick, .0780], gap: .041}
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """A bench with an empty shelf."""
    monkeypatch.setenv("GAPWRIGHT_WHO", "mary")
    monkeypatch.delenv("GAPWRIGHT_LENGTHS", raising=False)
    there = Bench(tmp_path)
    assert there.shelf("init").startswith("shop.db: an empty shelf")
    return there


@pytest.fixture(scope="session")
def two_workers() -> Iterator[str]:
    """The address of a Dask cluster of two workers on this machine."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address="127.0.0.1:0"
    ) as cluster:
        yield cluster.scheduler_address


@pytest.fixture
def drum() -> str:
    return DRUM


@pytest.fixture
def solve() -> Solve:
    def solved(text: str, limits: Limits | None = None) -> Report:
        return fit_case(case_of(parse(text, "job.yaml")), limits)

    return solved
