"""A shelf's file broken in every way a shop breaks files: one sentence, and nothing made worse."""

from __future__ import annotations

import os
import resource
import shutil
import sqlite3
import subprocess
from contextlib import closing, contextmanager
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING
from unittest.mock import patch

import pytest

from inventory import create_shelf, open_shelf
from inventory.movements import Note
from inventory.refusals import (
    BusyShelfError,
    DamagedShelfError,
    FullShelfError,
    NewerShelfError,
    NotAShelfError,
    ReadOnlyShelfError,
    ShelfError,
)
from tests.amounts import times
from tests.inventory.shelves import RING, THICK, THIN, move, post

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from inventory import Shelf

AS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shelf with a history, to be copied only."""
    path = tmp_path_factory.mktemp("written") / "shelf.db"
    create_shelf(path)
    with open_shelf(path) as shelf:
        for nth in range(30):
            post(shelf, move("receive", THIN, 2), move("reserve", THIN, 1, f"J-{nth}"))
            post(shelf, move("count", RING, nth), move("receive", THICK, 1), key=f"count {nth}")
            post(shelf, Note("promise", f"J-{nth % 7}", f"{nth} " + "mäßig " * nth))
    return path


@pytest.fixture
def file(written: Path, tmp_path: Path) -> Path:
    """A shelf with a history, closed."""
    return Path(shutil.copy(written, tmp_path / "shelf.db"))


def told(shelf: Shelf) -> object:
    """All that a shelf says."""
    return shelf.balances(), shelf.history(), shelf.notes(every=True), shelf.revision()


def refusal(path: Path | str) -> ShelfError:
    """How a file is refused: in one line, with exit code 2, and left as it was."""
    there = Path(path).read_bytes() if Path(path).is_file() else b""
    with pytest.raises(ShelfError) as refused, open_shelf(path, patience=1) as shelf:
        told(shelf)
    (line,) = str(refused.value).splitlines()
    assert line.startswith(f"{path}: ")
    assert refused.value.exit_code == 2
    if Path(path).is_file():
        assert Path(path).read_bytes() == there
    return refused.value


@pytest.mark.parametrize(
    "left",
    [1, 15, 16, 50, 99, 100, 101, 512, 4095, 4096, 4097, 8192, -10, -1, -4096],
)
def test_a_file_cut_short_is_refused(file: Path, left: int) -> None:
    os.truncate(file, left if left > 0 else file.stat().st_size + left)
    assert isinstance(refusal(file), DamagedShelfError | NotAShelfError)


def test_an_empty_file_is_no_new_shelf(file: Path) -> None:
    os.truncate(file, 0)
    assert "is empty, which a shelf never is" in str(refusal(file))
    assert file.stat().st_size == 0


def test_a_file_that_grew_is_refused(file: Path) -> None:
    with file.open("ab") as there:
        there.write(b"\n")
    assert "were written" in str(refusal(file))


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"drum steel: {thick: 5}\n" * 90, "is no database"),
        (b"SQLite format 3\x00" + b"steel" * 900, "is "),
        (b"\x00" * 8192, "is no database"),
        (Random(1).randbytes(8192), "is no database"),  # noqa: S311 - noise
    ],
    ids=["text", "a header and text", "nothing", "noise"],
)
def test_a_file_written_over_is_refused(file: Path, content: bytes, sentence: str) -> None:
    file.write_bytes(content)
    assert sentence in str(refusal(file))


def test_somebody_elses_database_is_refused(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "other.db")) as other:
        other.execute("CREATE TABLE entry (n INTEGER)")
        other.commit()
    assert "is a database, but no shelf" in str(refusal(tmp_path / "other.db"))


def test_a_folder_and_a_name_with_nothing_there_are_refused(tmp_path: Path) -> None:
    assert "is a folder" in str(refusal(tmp_path))
    assert "there is no such file" in str(refusal(tmp_path / "none.db"))
    assert "there is no such file" in str(refusal(tmp_path / "no folder" / "none.db"))
    with pytest.raises(ShelfError, match="cannot be read: File name too long"):
        open_shelf(tmp_path / ("x" * 300)).__enter__()
    assert not [*tmp_path.iterdir()]
    with pytest.raises(NotAShelfError, match="cannot be made"):
        create_shelf(tmp_path / "no folder" / "none.db")


def test_a_shelf_of_a_newer_version_is_refused(file: Path) -> None:
    with closing(sqlite3.connect(file)) as other:
        other.execute("PRAGMA user_version = 7")
    refused = refusal(file)
    assert isinstance(refused, NewerShelfError)
    assert "is of version 7, this gapwright knows 2; install a newer gapwright" in str(refused)


def test_what_fails_while_a_shelf_is_made_leaves_no_file(tmp_path: Path) -> None:
    broken = ("CREATE TABLE a (b);\nCREATE TABLE a (b);\n",)
    with patch("inventory.sqlite_door.STEPS", broken), pytest.raises(ShelfError):
        create_shelf(tmp_path / "shelf.db")
    assert not [*tmp_path.iterdir()]


def test_a_step_that_fails_leaves_the_shelf_as_it_was_and_its_copy(file: Path) -> None:
    from inventory import sqlite_door

    before = file.read_bytes()
    broken = (*sqlite_door.STEPS, "CREATE TABLE new (n);\nCREATE TABLE new (n);\n")
    with patch.object(sqlite_door, "STEPS", broken), pytest.raises(ShelfError):
        open_shelf(file).__enter__()
    assert file.read_bytes() == before
    assert file.with_name("shelf.db.before-3").exists()
    mended = (*sqlite_door.STEPS, "CREATE TABLE new (n);\n")
    with patch.object(sqlite_door, "STEPS", mended), open_shelf(file) as shelf:
        assert shelf.verify().requests == 90
    with open_shelf(file.with_name("shelf.db.before-3-2")) as kept:
        assert kept.verify().requests == 90


def schema_text(file: Path) -> list[int]:
    """Where in a shelf's file the text stands that says what its tables are."""
    whole = file.read_bytes()
    with closing(sqlite3.connect(file)) as other:
        texts = [sql.encode() for (sql,) in other.execute("SELECT sql FROM sqlite_schema") if sql]
    assert len(texts) > 10
    return [at for text in texts for at in range(whole.index(text), whole.index(text) + len(text))]


def anywhere(file: Path) -> range:
    return range(file.stat().st_size)


@pytest.mark.parametrize(("places", "flips"), [(anywhere, 400), (schema_text, 300)])
def test_bits_that_flip_are_found_or_change_nothing(
    file: Path, places: Callable[[Path], Sequence[int]], flips: int
) -> None:
    whole, draw, where = file.read_bytes(), Random(5), places(file)  # noqa: S311 - noise
    with open_shelf(file) as shelf:
        good = told(shelf)
    found = 0
    tried = times(flips, 80)
    for _ in range(tried):
        at = draw.choice(where)
        flipped = bytes([whole[at] ^ (1 << draw.randrange(8))])
        file.write_bytes(whole[:at] + flipped + whole[at + 1 :])
        file.with_name("shelf.db-journal").unlink(missing_ok=True)
        try:
            with open_shelf(file, patience=0) as shelf:
                shelf.verify()
                assert told(shelf) == good, f"a flipped bit at {at} went unseen"
        except ShelfError:
            found += 1
    assert found * flips >= 150 * tried


def test_a_kind_of_movement_there_is_none_of_is_found(file: Path) -> None:
    whole = file.read_bytes()
    row = b"count" + RING.lot_id.encode()
    assert row in whole
    file.write_bytes(whole.replace(row, b"counu" + row[5:], 1))
    with open_shelf(file, look=False) as shelf:
        for read in (shelf.verify, shelf.history):
            with pytest.raises(DamagedShelfError, match="never written \\('counu' in entry"):
                read()


def test_a_shelf_somebody_else_keeps_can_be_read_and_not_written(file: Path) -> None:
    with (
        closing(sqlite3.connect(file, isolation_level=None)) as other,
        open_shelf(file, patience=0) as shelf,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BusyShelfError, match="somebody else has kept it for 0 s; nothing was"):
            post(shelf, move("receive", RING, 1))
        assert shelf.revision() == 120
        other.execute("ROLLBACK")
        post(shelf, move("receive", RING, 1))
        assert shelf.revision() == 121


def test_a_reader_that_does_not_end_stops_a_writer_with_a_sentence(file: Path) -> None:
    with (
        closing(sqlite3.connect(file, isolation_level=None)) as other,
        open_shelf(file, patience=0) as shelf,
    ):
        other.execute("BEGIN")
        other.execute("SELECT * FROM entry").fetchone()
        with pytest.raises(BusyShelfError):
            post(shelf, move("receive", RING, 1), key="once")
        other.execute("COMMIT")
        post(shelf, move("receive", RING, 1), key="once")
        assert [entry.number for entry in shelf.history(key="once")] == [121]


@contextmanager
def at_most(size: int) -> Iterator[None]:
    """No file of this process grows beyond a size."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def post_until_refused(shelf: Shelf) -> None:
    while True:
        post(shelf, *(move("count", RING, nth) for nth in range(40)))


def test_a_file_that_may_not_grow_keeps_what_was_posted(file: Path) -> None:
    with open_shelf(file) as shelf:
        with at_most(file.stat().st_size), pytest.raises(ShelfError, match="nothing was posted"):
            post_until_refused(shelf)
        entries = shelf.verify().entries
        post(shelf, move("receive", RING, 1))
        assert shelf.verify().entries == entries + 1
    assert entries >= 120
    assert entries % 40 == 0


@pytest.mark.skipif(not AS_ROOT, reason="mounts a small disk, for which one must be root")
def test_a_full_disk_keeps_what_was_posted(tmp_path: Path) -> None:
    with mounted("-t", "tmpfs", "-o", "size=256k", "none", to=tmp_path / "disk") as disk:
        create_shelf(disk / "shelf.db")
        with open_shelf(disk / "shelf.db") as shelf:
            with pytest.raises(FullShelfError, match="the disk is full; nothing was posted"):
                post_until_refused(shelf)
            posted = shelf.verify().requests
            assert posted >= 5
        with pytest.raises(ShelfError), open_shelf(disk / "shelf.db") as shelf:
            shelf.backup(disk / "kept.db")
        assert [path.name for path in disk.iterdir()] == ["shelf.db"]
        with open_shelf(disk / "shelf.db") as shelf:
            assert shelf.verify().entries == 40 * posted


@contextmanager
def mounted(*what: str, to: Path) -> Iterator[Path]:
    to.mkdir(exist_ok=True)
    subprocess.run(["mount", *what, to], check=True)
    try:
        yield to
    finally:
        subprocess.run(["umount", "-l", to], check=True)


@contextmanager
def read_only(folder: Path) -> Iterator[Path]:
    """The same folder, where nobody may write: by its mode, or mounted so where root asks."""
    if AS_ROOT:
        with mounted("--bind", str(folder), to=folder.parent / "read only") as seen:
            subprocess.run(["mount", "-o", "remount,ro,bind", seen], check=True)
            yield seen
        return
    folder.chmod(0o555)
    (folder / "shelf.db").chmod(0o444)
    try:
        yield folder
    finally:
        folder.chmod(0o755)


def test_where_nobody_may_write_a_shelf_is_read_and_refuses_to_be_written(
    file: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    home = tmp_path_factory.mktemp("home") / "shop"
    shutil.copytree(file.parent, home)
    with read_only(home) as folder, open_shelf(folder / "shelf.db") as shelf:
        assert shelf.verify().entries == 120
        shelf.backup(file.parent / "kept.db")
        with pytest.raises(ReadOnlyShelfError, match="may be read and not written; nothing was"):
            post(shelf, move("receive", RING, 1))
        assert shelf.revision() == 120
        with pytest.raises(NotAShelfError, match=r"cannot be made: (Read-only|Permission)"):
            create_shelf(folder / "new.db")
    with open_shelf(file.parent / "kept.db") as kept:
        assert kept.verify().entries == 120


@pytest.mark.parametrize("loss", [shutil.rmtree, lambda folder: folder.rename(f"{folder} gone")])
def test_a_folder_that_disappears_is_told(tmp_path: Path, loss: Callable[[Path], object]) -> None:
    folder = tmp_path / "usb"
    folder.mkdir()
    create_shelf(folder / "shelf.db")
    with open_shelf(folder / "shelf.db") as shelf:
        post(shelf, move("receive", RING, 1))
        loss(folder)
        with pytest.raises(ShelfError, match=r"where it lies .*; nothing was posted"):
            post(shelf, move("receive", RING, 1))
    assert "there is no such file" in str(refusal(folder / "shelf.db"))


def test_a_shelf_another_tool_keeps_a_log_beside_is_read_with_it(file: Path) -> None:
    with open_shelf(file) as shelf:
        good = told(shelf)
    copied = file.with_name("copied.db")
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode = WAL")
        other.executescript("CREATE TABLE a (b); CREATE TABLE c (d); DROP TABLE a; DROP TABLE c;")
        shutil.copy(file, copied)
        shutil.copy(f"{file}-wal", f"{copied}-wal")
    with open_shelf(copied) as shelf:
        assert told(shelf) == good
        post(shelf, move("receive", RING, 1))
        shelf.verify()
    assert not copied.with_name("copied.db-wal").exists()


def test_what_a_killed_writer_left_beside_the_file_is_taken_back(file: Path) -> None:
    """A journal beside a file half written: the next to open it sees none of the half."""
    with open_shelf(file) as shelf:
        good = told(shelf)
    copied = file.with_name("killed.db")
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("PRAGMA cache_size = 1")
        other.execute("BEGIN IMMEDIATE")
        other.execute("DROP TRIGGER lot_remains")
        other.execute("CREATE TABLE big AS SELECT a.* FROM entry AS a, entry AS b")
        shutil.copy(file, copied)
        shutil.copy(f"{file}-journal", f"{copied}-journal")
        other.execute("ROLLBACK")
    assert copied.read_bytes() != file.read_bytes()
    with open_shelf(copied) as shelf:
        assert told(shelf) == good
        shelf.verify()
