"""Numbers of thousands of digits, tables of half a million columns: refused shortly and soon."""

from __future__ import annotations

import shutil
import time
from typing import TYPE_CHECKING

import pytest

from inventory import create_shelf
from inventory.sheet import read_sheet
from specs.errors import InputError, Problem
from specs.files.history import read_history
from specs.files.job_table import read_job_table
from tests.commands import DEMO, refused

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

DIGITS = "9" * 4_400
MOST_COLUMNS = 500_000


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The demo, with an earlier plan that holds a number no program reads."""
    shutil.copytree(DEMO, tmp_path / "demo")
    (tmp_path / "demo" / "plan.json").write_text(f'{{"shape": {DIGITS}}}', encoding="utf-8")
    return tmp_path / "demo"


@pytest.mark.parametrize(
    "words",
    [
        ("shelf", "add", "shop.db", "low ring", ".0700", DIGITS),
        ("shelf", "add", "shop.db", DIGITS, ".0700", "1"),
        ("shelf", "release", "shop.db", "--job", DIGITS),
        ("shelf", "list", "shop.db", "--low", DIGITS),
        ("shelf", "list", DIGITS),
        ("fit", DIGITS),
        ("fit", "job.yaml", "--workers", DIGITS),
        ("fit", "job.yaml", f"--{DIGITS}"),
        ("fit", "job.yaml", "--sure", DIGITS),
        ("cover", "kit.yaml", "--gap", DIGITS),
        ("tell", "--unit", "unit.yaml", DIGITS),
        ("batch", "job.yaml", "--keep-plan", "plan.json"),
        (DIGITS,),
    ],
)
def test_a_number_of_4400_digits_is_not_quoted_whole(folder: Path, words: tuple[str, ...]) -> None:
    create_shelf(folder / "shop.db")
    told = "\n".join(refused(*words, cwd=folder))
    assert len(told) < 600
    assert "9" * 256 not in told


def test_a_quotation_is_cut_and_the_name_of_a_file_is_not() -> None:
    path = "/".join(["a folder of a shop"] * 30)
    problem = Problem(f'found "{"so many words " * 90}"; the file is {path}', path, 3)
    assert len(problem.sentence) < 160 + len(path)
    assert problem.sentence.startswith('found "so many words so many')
    assert problem.sentence.endswith(f'so many words "; the file is {path}')
    assert str(problem).startswith(f"{path}:3: found")


def rows(path: Path) -> object:
    return read_job_table(path)


def past(path: Path) -> object:
    return read_history(path, "in")


def counts(path: Path) -> object:
    return read_sheet(path.read_bytes(), str(path))


@pytest.mark.parametrize("read", [rows, past, counts])
@pytest.mark.parametrize("name", ["c{}", "x", ""])
def test_a_header_of_half_a_million_columns_is_refused_soon(
    tmp_path: Path, read: Callable[[Path], object], name: str
) -> None:
    header = ",".join(["job", *(name.format(nth) for nth in range(MOST_COLUMNS))])
    (tmp_path / "wide.csv").write_text(f"{header}\nJ-1,2\n", encoding="utf-8")
    begun = time.process_time()
    with pytest.raises(InputError) as caught:
        read(tmp_path / "wide.csv")
    assert time.process_time() - begun < 20
    (problem,) = caught.value.problems
    assert problem.sentence == (
        "names 500001 columns, and a table has at most 1000: check that it is the right file"
    )


def test_a_row_of_half_a_million_cells_is_refused_soon(tmp_path: Path) -> None:
    row = ",".join(["1"] * MOST_COLUMNS)
    for read, header in (
        (rows, "job,note"),
        (past, "low drum,front play"),
        (counts, "family,size,count"),
    ):
        (tmp_path / "wide.csv").write_text(f"{header}\n{row}\n", encoding="utf-8")
        begun = time.process_time()
        with pytest.raises(InputError) as caught:
            read(tmp_path / "wide.csv")
        assert time.process_time() - begun < 20
        assert "500000" in str(caught.value)
        assert len(str(caught.value)) < 300


def test_an_earlier_plan_with_a_number_nobody_reads_is_no_plan(folder: Path) -> None:
    told = refused("batch", "job.yaml", "--keep-plan", "plan.json", cwd=folder)
    assert told == ["plan.json: is no JSON; keep what --json printed"]
