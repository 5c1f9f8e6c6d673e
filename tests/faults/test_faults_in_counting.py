"""Faults around a shelf's files: large ones, foreign ones, and places that are gone."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from inventory import create_shelf, open_shelf
from tests.amounts import times
from tests.commands import refused, run

ROWS = times(200_000, 33_000)  # more than a statement of SQLite takes values


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    path = tmp_path / "shop.db"
    create_shelf(path)
    return path


def test_very_many_rows_are_taken_or_refused_whole(shelf: Path, tmp_path: Path) -> None:
    head = "\ufefffamily;size;count;thickness;bin\r\n"
    lines = [f"'=ring {n % 9};.{n};3;1,{n % 90 + 10};B{n}\r\n" for n in range(ROWS)]
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_text(head + "".join(lines), encoding="utf-8", newline="")
    lines[-1] = lines[-1].replace(";3;", ";-3;")
    bad.write_text(head + "".join(lines), encoding="utf-8", newline="")
    options = ("--mode", "add", "--lengths", "mm", "--who", "mary")
    assert refused("shelf", "import", shelf, bad, *options) == [
        f'{bad}:{ROWS + 1}: count: found "-3"; write a whole number from 0 to 1000000'
    ]
    with open_shelf(shelf) as opened:
        assert opened.revision() == 0
    done = run("shelf", "import", shelf, good, *options)
    assert done.returncode == 0, done.stderr
    assert f"{ROWS} lots received, {ROWS} new; {3 * ROWS} parts more".encode() in done.stdout
    with open_shelf(shelf) as opened:
        assert opened.revision() == ROWS
        balances = opened.balances()
    assert {balance.on_hand for balance in balances} == {3}
    assert all(balance.part.family.startswith("=ring ") for balance in balances)


@pytest.mark.parametrize("words", [("list",), ("verify",), ("add", "ring", "a", "1"), ("history",)])
@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("shelf.yaml", b"shelf: {drum ring: {.0700: 1}}\n" * 99, "is no database"),
        ("empty.db", b"", "is empty, which a shelf never is"),
        ("none.db", None, "there is no such file; make a shelf first"),
    ],
)
def test_what_is_no_ledger_is_refused_and_left_as_it_is(
    tmp_path: Path, words: tuple[str, ...], name: str, content: bytes | None, why: str
) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    verb, *rest = words
    (said,) = refused("shelf", verb, path, *rest)
    assert said.startswith(f"{path}: {why}")
    assert (path.read_bytes() if path.exists() else None) == content


def test_a_folder_that_is_gone_is_told(shelf: Path, tmp_path: Path) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    shutil.move(shelf, folder / "shop.db")
    run("shelf", "add", folder / "shop.db", "ring", "a", "1", "--who", "mary")
    moved = folder.rename(tmp_path / "gone")
    for words in (("list",), ("add", "ring", "a", "1"), ("verify",)):
        (said,) = refused("shelf", words[0], folder / "shop.db", *words[1:])
        assert "there is no such file" in said
    gone = ("shelf", "export", moved / "shop.db", folder / "counts.csv")
    assert "cannot be written: No such file or directory" in refused(*gone)[0]
    assert run("shelf", "verify", moved / "shop.db").returncode == 0


def test_a_full_disk_leaves_no_half_export(shelf: Path) -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("no /dev/full here")
    run("shelf", "add", shelf, "ring", "a", "1", "--who", "mary")
    target = shelf.with_name("counts.csv")
    shelf.with_name(".counts.csv.unfinished").symlink_to(full)
    (said,) = refused("shelf", "export", shelf, target)
    assert said == f"{target}: cannot be written: No space left on device"
    assert sorted(path.name for path in shelf.parent.iterdir()) == ["shop.db"]
