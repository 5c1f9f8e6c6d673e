"""A file is on the disk before it takes its name, and its name before anybody is told."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from gapwright.output.files import put
from inventory import create_shelf, open_shelf
from specs.errors import InputError
from tests.commands import DEMO, ran


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is asked of the disk, in order: which file or folder is synced, what is renamed."""
    done: list[str] = []
    sync, rename = os.fsync, os.replace

    def synced(handle: int) -> None:
        there = os.fstat(handle)
        what = "folder" if stat.S_ISDIR(there.st_mode) else f"{there.st_size} bytes"
        done.append(f"{what} synced")
        sync(handle)

    def renamed(source: Path, target: Path) -> None:
        rename(source, target)
        done.append(f"renamed to {Path(target).name}")

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "replace", renamed)
    return done


def test_what_is_written_is_on_the_disk_before_it_is_renamed(
    tmp_path: Path, done: list[str]
) -> None:
    for replace in (False, True):
        put("a line\n", tmp_path / "a.yaml", replace=replace)
        assert done == ["7 bytes synced", "renamed to a.yaml", "folder synced"]
        done.clear()
    assert [path.name for path in tmp_path.iterdir()] == ["a.yaml"]


def test_a_disk_that_fails_to_keep_a_file_leaves_the_older_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put("older", tmp_path / "a.yaml", replace=False)

    def fail(_: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(InputError, match="cannot be written: Input/output error"):
        put("newer", tmp_path / "a.yaml", replace=True)
    assert {path.name: path.read_text("utf-8") for path in tmp_path.iterdir()} == {
        "a.yaml": "older"
    }


def test_a_new_ledger_and_its_copy_have_their_names_on_the_disk(
    tmp_path: Path, done: list[str]
) -> None:
    create_shelf(tmp_path / "shop.db")
    assert done[-1] == "folder synced"
    done.clear()
    with open_shelf(tmp_path / "shop.db") as shelf:
        shelf.backup(tmp_path / "kept.db")
    assert done[-1] == "folder synced"


def test_what_a_command_writes_is_on_the_disk(tmp_path: Path, done: list[str]) -> None:
    create_shelf(tmp_path / "shop.db")
    ran("shelf", "import", tmp_path / "shop.db", DEMO / "shelf.yaml", "--mode", "add")
    for words in (
        ("shelf", "export", tmp_path / "shop.db", tmp_path / "out.csv"),
        ("sheet", DEMO / "job.yaml", "-o", tmp_path / "out.html"),
        ("cover", DEMO / "kit.yaml", "--picture", tmp_path / "out.svg"),
    ):
        done.clear()
        assert ran(*words).returncode in (0, 3)
        assert done[-2].startswith("renamed to out.")
        assert (done[-3].endswith(" bytes synced"), done[-1]) == (True, "folder synced")
