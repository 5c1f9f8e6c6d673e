"""A kit's check against plain sums: what it covers, what it lacks, what a job leaves over."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from gapwright.kit.service import KitCheck, check_case, exit_code
from solver.problem.solution import Fit, NoFit
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.parts.kit_contents import as_shelf, held
from tests.amounts import few
from tests.oracles.random_kits import RandomKit

SEEDS = few(range(60), 34)


@cache
def checked(seed: int) -> tuple[RandomKit, KitCheck]:
    kit = RandomKit(seed)
    case = case_of(parse(kit.text(), "kit.yaml"), needs=("unit", "kit"))
    return kit, check_case(as_shelf(case))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_covered_is_what_fits_room_by_room(seed: int) -> None:
    kit, check = checked(seed)
    assert [one.moving.name for one in check.covers] == ["low", "high", "play"]
    for covered in check.covers:
        name = covered.moving.name
        rooms = [covered.at(nth).nm / 1000 for nth in range(covered.sweep.count)]
        assert [one.status for one in covered.served] == [
            "fit" if kit.serves(name, room) else "no fit" for room in rooms
        ]
        for hole in covered.holes:
            within = rooms[hole.first : hole.last + 1]
            closers = {
                part: count
                for part in kit.parts()
                for count in (2, 1)
                if all(kit.serves(name, r, kit.kit + Counter({part: count})) for r in within)
            }
            if hole.addition is None:
                assert not closers
                continue
            part = covered.sweep.instance.choices[hole.addition.choice]
            assert closers[part.family, part.size] == hole.addition.count == min(closers.values())


@pytest.mark.parametrize("seed", SEEDS)
def test_what_a_job_takes_and_what_is_left_over_are_the_kit(seed: int) -> None:
    kit, check = checked(seed)
    assert check.job
    assert check.job.used + check.job.left == kit.kit == held(check.case)
    answer = check.job.report.answer
    assert isinstance(answer, Fit if kit.fits else NoFit)
    built: Counter[tuple[str, str]] = Counter()
    for gap in check.job.report.gaps:
        assert gap.inside
        built.update((line.family, line.size) for line in gap.steps if line.lot)
    assert Counter({p: n for p, n in check.job.used.items() if p[0] != "friction"}) == built
    frictions = min(2, kit.kit["friction", ""]) if kit.fits else 0
    assert check.job.used["friction", ""] == frictions


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_short_and_left_out_is_counted(seed: int) -> None:
    kit, check = checked(seed)
    count = Counter[str]()
    for (family, _), number in kit.kit.items():
        count[family] += number
    takes = {"steel": (2, 2), "ring": (2, 2), "washer": (1, 1), "shim": (0, 2), "friction": (2, 2)}
    short = {
        family
        for family, (least, _) in takes.items()
        if (count[family] < least and (count[family] or family != "friction"))
        or (not count[family] and family == "shim")
    }
    assert {lack.family for lack in check.lacks} == short
    assert all((lack.need.least, lack.need.most) == takes[lack.family] for lack in check.lacks)
    left_out = set() if kit.gasket else {"gasket"}
    left_out |= {"friction"} if count["friction"] < 2 else set()
    assert {part.name for part in check.left_out} == left_out
    whole = not (short - {"shim"} or left_out or check.holes or check.unserved)
    assert check.complete == whole
    assert exit_code(check) == (0 if whole and kit.fits else 3)


def test_the_random_kits_go_down_every_road() -> None:
    found = [checked(seed) for seed in SEEDS]
    fits = sum(kit.fits for kit, _ in found)
    assert len(SEEDS) / 4 <= fits <= len(SEEDS) * 3 / 4
    holes = [hole for _, check in found for covered in check.covers for hole in covered.holes]
    assert len(holes) > len(SEEDS) / 2
    assert any(hole.addition is None for hole in holes)
    assert any(check.complete for _, check in found)
