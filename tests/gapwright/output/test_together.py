"""Several files are written together or none of them."""

from __future__ import annotations

import json
import os
import threading
from pathlib import Path

import pytest

from gapwright.output import together
from gapwright.output.together import ChangedError, Rewrite, finish, write_together
from specs.errors import InputError

SHELF, JOB = "shelf: {ring: 4}\n", "job:\n  name: J-1\n"
NEW_SHELF, NEW_JOB = "shelf: {ring: 3}\n", "job:\n  name: J-1\n  closed: 1\n"


class Killed(BaseException):
    """What ends a program between two files; nothing of ours catches it."""


@pytest.fixture
def pair(tmp_path: Path) -> list[Rewrite]:
    """The changes of a shelf and of a job, in two folders."""
    (tmp_path / "jobs").mkdir()
    shelf, job = tmp_path / "shelf.yaml", tmp_path / "jobs" / "j-1.yaml"
    shelf.write_bytes(SHELF.encode())
    job.write_bytes(JOB.encode())
    return [Rewrite(shelf, SHELF, NEW_SHELF), Rewrite(job, JOB, NEW_JOB)]


def held(pair: list[Rewrite]) -> list[str]:
    return [change.file.read_bytes().decode() for change in pair]


def beside(pair: list[Rewrite]) -> list[Path]:
    return list(pair[0].file.parent.rglob(".*.together"))


def end_at(nth: int, monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Fail at the nth file that is replaced."""
    replace, calls = Path.replace, []

    def failing(source: Path, target: Path) -> Path:
        calls.append(target)
        if len(calls) == nth:
            raise error
        return replace(source, target)

    monkeypatch.setattr(Path, "replace", failing)


def begin_and_end_at(nth: int, pair: list[Rewrite], monkeypatch: pytest.MonkeyPatch) -> None:
    """Begin to write both files, and be killed before the nth is replaced."""
    with monkeypatch.context() as patch:
        end_at(nth, patch, Killed())
        with pytest.raises(Killed):
            write_together(pair)


def test_all_are_written_and_nothing_else_is_left(pair: list[Rewrite]) -> None:
    write_together(pair)
    assert held(pair) == [NEW_SHELF, NEW_JOB]
    assert not beside(pair)
    write_together([Rewrite(pair[0].file, NEW_SHELF, SHELF)])
    assert held(pair) == [SHELF, NEW_JOB]


def test_a_file_that_changed_since_it_was_read_lets_none_be_written(pair: list[Rewrite]) -> None:
    pair[1].file.write_text("job: {name: J-2}\n", encoding="utf-8")
    with pytest.raises(ChangedError, match=r"j-1\.yaml: was changed since it was read"):
        write_together(pair)
    assert held(pair) == [SHELF, "job: {name: J-2}\n"]
    assert not beside(pair)


@pytest.mark.parametrize("nth", [1, 2])
@pytest.mark.parametrize("found_by", [0, 1])
def test_what_was_begun_is_finished_from_either_file(
    pair: list[Rewrite], nth: int, found_by: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    begin_and_end_at(nth, pair, monkeypatch)
    assert held(pair) == [NEW_SHELF if nth == 2 else SHELF, JOB]
    assert finish(pair[found_by].file)
    assert held(pair) == [NEW_SHELF, NEW_JOB]
    assert not beside(pair)
    assert not finish(pair[found_by].file)


def test_what_is_not_beside_every_file_was_never_begun(
    pair: list[Rewrite], monkeypatch: pytest.MonkeyPatch
) -> None:
    begin_and_end_at(1, pair, monkeypatch)
    whole = {path: path.read_bytes() for path in beside(pair)}
    for gone in whole:
        for left in (b"", whole[gone][:-5]):
            for path, raw in whole.items():
                path.write_bytes(left if path == gone else raw)
            assert not any(finish(change.file) for change in pair)
            assert held(pair) == [SHELF, JOB]
            assert not beside(pair)


def test_the_next_writer_finishes_first(
    pair: list[Rewrite], monkeypatch: pytest.MonkeyPatch
) -> None:
    begin_and_end_at(1, pair, monkeypatch)
    with pytest.raises(ChangedError):
        write_together([Rewrite(pair[0].file, SHELF, "shelf: {ring: 9}\n")])
    assert held(pair) == [NEW_SHELF, NEW_JOB]


def test_a_file_changed_meanwhile_is_refused_and_nothing_is_lost(
    pair: list[Rewrite], monkeypatch: pytest.MonkeyPatch
) -> None:
    begin_and_end_at(1, pair, monkeypatch)
    pair[0].file.write_text("shelf: {ring: 7}\n", encoding="utf-8")
    for _ in range(2):
        with pytest.raises(InputError) as caught:
            finish(pair[1].file)
        assert str(caught.value).endswith(
            "shelf.yaml: was being written together with j-1.yaml when the program was ended, and "
            "was changed since: bring over what stands in .shelf.yaml.together, and delete it"
        )
        assert held(pair) == ["shelf: {ring: 7}\n", JOB]
    for path in beside(pair):
        assert json.loads(path.read_text("utf-8").partition("\n")[2])[0]["text"] == NEW_SHELF
    pair[0].file.with_name(".shelf.yaml.together").unlink()
    assert not finish(pair[1].file)
    assert held(pair) == ["shelf: {ring: 7}\n", JOB]


def test_a_full_disk_leaves_all_as_they_are(
    pair: list[Rewrite], monkeypatch: pytest.MonkeyPatch
) -> None:
    for nth in (1, 2):
        with monkeypatch.context() as patch:
            end_at(nth, patch, OSError(28, "No space left on device"))
            with pytest.raises(InputError, match="cannot be written: No space left on device"):
                write_together(pair)
        assert held(pair) == [SHELF, JOB]
        assert not beside(pair)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="cannot be written: No space left on device"):
        write_together(pair)
    assert held(pair) == [SHELF, JOB]
    assert not beside(pair)


def test_two_writers_at_once_write_one_after_the_other(pair: list[Rewrite]) -> None:
    told = []

    def count_up() -> None:
        for _ in range(20):
            try:
                texts = held(pair)
                counts = [text.count("#") for text in texts]
                write_together(
                    [
                        Rewrite(one.file, text, text + "#\n")
                        for one, text in zip(pair, texts, strict=True)
                    ]
                )
                told.append(counts[0])
            except ChangedError:
                pass

    threads = [threading.Thread(target=count_up) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [text.count("#") for text in held(pair)] == [len(told)] * 2
    assert sorted(told) == list(range(len(told)))


def test_a_program_that_holds_the_files_for_long_is_named(
    pair: list[Rewrite], monkeypatch: pytest.MonkeyPatch
) -> None:
    fcntl = pytest.importorskip("fcntl")
    monkeypatch.setattr(together, "PATIENCE", 0.05)
    with pair[1].file.with_name(".j-1.yaml.together").open("wb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        with pytest.raises(InputError, match=r"j-1\.yaml: is being written by another program"):
            write_together(pair)
    assert held(pair) == [SHELF, JOB]


def test_only_files_of_jobs_and_shelves_are_written(
    pair: list[Rewrite], monkeypatch: pytest.MonkeyPatch
) -> None:
    notes = Rewrite(pair[0].file.with_name("notes.yaml"), "a: 1\n", "a: 2\n")
    notes.file.write_text(notes.before, encoding="utf-8")
    with monkeypatch.context() as patch:
        end_at(1, patch, Killed())
        with pytest.raises(Killed):
            write_together([pair[1], notes])
    with pytest.raises(InputError, match="names files that hold no job and no shelf"):
        finish(pair[1].file)
    assert held([pair[1], notes]) == [JOB, "a: 1\n"]


@pytest.mark.parametrize("name", ["9" * 4400, "9" * 250, "loop", "a\0b"])
def test_where_nothing_can_be_begun_nothing_is_finished(tmp_path: Path, name: str) -> None:
    (tmp_path / "loop").symlink_to("loop")
    assert finish(tmp_path / name) is False
