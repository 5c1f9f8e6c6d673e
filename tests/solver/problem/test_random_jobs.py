"""The random jobs the oracles are asked: read as files are, and going every road often enough."""

from __future__ import annotations

from collections import Counter

import pytest
import yaml

from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.job_gap import JobGap
from tests.amounts import few
from tests.oracles.against_brute import ready_gaps
from tests.oracles.brute_files import own_space
from tests.oracles.random_jobs import random_job

SEEDS = range(1_000)
ROADS = {
    "aim loose", "aim middle", "aim tight", "aim value", "averaged", "condition of a layout",
    "factors", "fixed part measured", "grades", "groove", "half a reading", "heat at the piston",
    "kept as it is now", "kept part", "layout asked for", "layout with its own space",
    "loaded from the second end", "made short", "measured lots", "near nominals", "nearest",
    "no width", "now in the unit", "on the height", "one-sided", "only", "only holds",
    "left out", "other aims", "preload", "proud", "reach", "reach of a shared part",
    "reading moved", "reserved",
    "rule at least", "rule at most", "rule in", "rule must", "rule never", "several gaps",
    "several layouts", "shared part", "shared reading", "shims", "three grades", "trial build",
    "two steel families", "used lots", "waiting gap", "wear limit", "wear limit of a size",
    "wears by", "worn part that is not chosen", "always replaced", "other linings tried",
    "parts going in",
    "trial parts of this unit", "trial parts from the shelf",
}  # fmt: skip


def test_every_road_is_taken_often() -> None:
    roads = Counter(road for seed in SEEDS for road in random_job(seed).roads)
    seldom = {road: roads[road] for road in ROADS if roads[road] < len(SEEDS) // 30}
    assert seldom == {}


def test_a_seed_draws_the_same_job_twice() -> None:
    assert random_job(7) == random_job(7)
    assert random_job(7).document != random_job(8).document


def test_a_job_is_the_same_when_it_is_written_as_yaml() -> None:
    for seed in few(range(40)):
        job = random_job(seed)
        read = case_of(parse(yaml.safe_dump(job.document), "job.yaml"))
        case = job.case()
        assert (read.unit, read.shelf, read.job) == (case.unit, case.shelf, case.job)


@pytest.mark.parametrize("first", range(0, 1_000, 250))
def test_a_space_is_what_the_text_of_the_unit_file_says(first: int) -> None:
    for seed in few(range(first, first + 250)):
        case = random_job(seed).case()
        for gap in ready_gaps(case):
            for layout in case.unit.gaps[gap].arrangements:
                mine = own_space(case, gap, layout)
                assert JobGap(case, gap).space(layout).length.nm == mine, (seed, gap, layout)
