"""Many jobs of one unit and one shelf: each file is read and checked once, and answers as alone."""

from __future__ import annotations

import shutil
from functools import partial
from itertools import product
from typing import TYPE_CHECKING

import pytest

from specs.checks import case as checks
from specs.errors import InputError
from specs.files.read import FilesRead, case_of, read_case
from specs.formats.yaml import read
from tests.commands import DEMO

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from specs.findings import Finding

SLIPS = {
    "unit.yaml": ("window: .025 to .045", "window: .045 to .025"),
    "shelf.yaml": (".0780: ", ".0708: "),
    "job.yaml": ("gasket: .0180", "gusket: .0180"),
}


@pytest.fixture
def jobs(tmp_path: Path) -> list[Path]:
    """Three jobs of the demo's unit, one of them in mm."""
    for name in ("unit.yaml", "shelf.yaml", "job.yaml"):
        shutil.copy(DEMO / name, tmp_path)
    written = (tmp_path / "job.yaml").read_text("utf-8")
    metric = "length: mm\nunit: unit.yaml\nshelf: shelf.yaml\njob: {gaps: {low: {gap: 0.5}}}\n"
    files = [tmp_path / "job.yaml", tmp_path / "metric.yaml", tmp_path / "other.yaml"]
    for file, text in zip(files, (written, metric, written), strict=True):
        file.write_text(text, encoding="utf-8")
    return files


def told(file: Path, seen: FilesRead | None) -> str:
    """What is wrong with a job."""
    try:
        case_of(read(file), seen=seen)
    except InputError as error:
        return str(error)
    return ""


def test_a_unit_and_a_shelf_are_checked_once(
    jobs: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = []

    def noted(*of: object, real: Callable[..., Iterator[Finding]]) -> Iterator[Finding]:
        found.append(real)
        return real(*of)

    for name in ("unit_findings", "shelf_findings"):
        monkeypatch.setattr(checks, name, partial(noted, real=getattr(checks, name)))
    seen = FilesRead()
    for file in jobs:
        case_of(read(file), seen=seen)
    assert len(found) == 2 * 2  # once for each unit of length that a finding may be worded in
    case_of(read(jobs[0]))
    assert len(found) == 2 * 3


@pytest.mark.parametrize("wrong", [*product((False, True), repeat=3)])
def test_each_job_is_told_what_it_is_told_alone(jobs: list[Path], wrong: tuple[bool, ...]) -> None:
    for is_wrong, (name, (old, new)) in zip(wrong, SLIPS.items(), strict=True):
        file = jobs[0].with_name(name)
        text = file.read_text("utf-8")
        assert old in text
        file.write_text(text.replace(old, new, 1) if is_wrong else text, encoding="utf-8")
    seen = FilesRead()
    assert [told(file, seen) for file in jobs] == [told(file, None) for file in jobs]
    assert any(told(file, None) for file in jobs) == any(wrong)


def test_a_unit_within_a_job_is_checked_for_each(jobs: list[Path]) -> None:
    seen, unit = FilesRead(), jobs[0].with_name("unit.yaml").read_text("utf-8")
    job = jobs[0].read_text("utf-8").replace("length: in\n", "").replace("unit: unit.yaml\n", "")
    old, new = SLIPS["unit.yaml"]
    for text in (unit, unit.replace(old, new, 1)):
        jobs[0].write_text(text + job, encoding="utf-8")
        assert bool(told(jobs[0], seen)) == (text != unit)
    assert read_case(jobs[2])
