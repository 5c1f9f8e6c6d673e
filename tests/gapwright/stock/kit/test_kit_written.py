"""A kit that `stock kit` chose, written as a file: drum by drum it serves what was promised."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from gapwright.kit.left_over import left_over
from gapwright.kit.service import check_case
from gapwright.stock.kit.service import kit_case, write_kit
from solver.problem.solution import Fit
from specs.files.read import read_kit, read_unit_alone
from specs.parts.kit_contents import held
from specs.values.lengths import number
from tests.oracles.brute_stock import KitJob

if TYPE_CHECKING:
    from pathlib import Path

    from specs.files.history import History
    from specs.values.lengths import Length

SEEDS = range(12)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_written_kit_serves_the_drums_it_was_chosen_for(seed: int, tmp_path: Path) -> None:
    job = KitJob(seed)
    file = tmp_path / "unit.yaml"
    file.write_text(job.unit, encoding="utf-8")
    case = read_unit_alone(file)
    able = sum(count for draws, count in job.drums if any(clear for _, clear in draws))
    report = kit_case(case, job.history, Fraction(able, job.history.rows.total()))
    assert report.kit
    (tmp_path / "kits").mkdir()
    written = write_kit(report, tmp_path / "kits" / "kit.yaml", replace=False)
    assert written == bool(able)
    if not able:
        return
    kit = held(read_kit(tmp_path / "kits" / "kit.yaml"))
    assert job.served(kit) == report.kit.served >= report.wanted
    assert job.cost(kit) * 10_000 == report.kit.cost
    again = check_case(read_kit(tmp_path / "kits" / "kit.yaml"), history=job.history).past
    assert again
    close = report.only_to_limit(report.kit)
    assert (again.drums, again.served) == (report.drums, report.kit.served + close)
    assert again.only_to_limit == close == job.only_to_limit(kit)
    served = Counter[bool]()
    for row, count in job.history.rows.items():
        text = _job(job.history, row)
        (tmp_path / "kits" / "both.yaml").write_text(
            (tmp_path / "kits" / "kit.yaml").read_text(encoding="utf-8") + text, encoding="utf-8"
        )
        answer = left_over(read_kit(tmp_path / "kits" / "both.yaml")).report.answer
        served[isinstance(answer, Fit)] += count
    assert served[True] == again.served


def _job(history: History, row: tuple[Length | None, ...]) -> str:
    gaps = ", ".join(
        f"{name}: {{readings: {{r: {number(room, 'mm')} mm}}}}"
        for name, room in zip(history.columns, row, strict=True)
        if room is not None
    )
    return f"job: {{gaps: {{{gaps}}}}}\n"
