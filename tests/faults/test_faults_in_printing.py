"""Answers that cannot be printed or written: a full disk, a closed pipe, an old terminal."""

from __future__ import annotations

import shutil
import subprocess
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.amounts import some
from tests.commands import COMMAND, DEMO, HOME, environment, process, refused
from tests.specs.drums import DRUM

if TYPE_CHECKING:
    from collections.abc import Iterator

JOB = DEMO / "job.yaml"


@pytest.mark.parametrize("words", [("fit", JOB), ("fit", JOB, "--json"), ("schema", "unit")])
def test_a_full_disk_is_named_and_nothing_more(words: tuple[str | Path, ...]) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no full device here")
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*COMMAND, *map(str, words)],
            cwd=HOME, stdout=full, stderr=subprocess.PIPE, check=False, env=environment(),
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.decode().splitlines() == ["output: No space left on device"]


def test_a_reader_that_leaves_early_is_no_fault() -> None:
    with subprocess.Popen(
        [*COMMAND, "fit", str(JOB)],
        cwd=HOME, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment(),
    ) as process:  # fmt: skip
        assert process.stdout
        assert process.stderr
        process.stdout.close()
        said = process.stderr.read().decode()
    assert "Traceback" not in said
    assert "unforeseen" not in said
    assert len(said.splitlines()) <= 1


def test_a_pipe_into_head_ends_well() -> None:
    line = " ".join([*(f"'{word}'" for word in COMMAND), "fit", f"'{JOB}'", "| head -1"])
    done = subprocess.run(
        ["sh", "-c", line], cwd=HOME, capture_output=True, check=False, env=environment()
    )
    assert done.stdout.startswith(b"J-1042, Harrow 4: FITS")
    assert b"Traceback" not in done.stderr


@pytest.fixture(scope="module")
def printed() -> bytes:
    return process("fit", JOB).stdout


TERMINALS = (
    {"LC_ALL": "C"},
    {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    {"PYTHONIOENCODING": "cp1252"},
    {"PYTHONIOENCODING": "ascii"},
    {"COLUMNS": "40"},
    {"TERM": "dumb", "NO_COLOR": "1"},
)


@pytest.mark.parametrize("settings", some(TERMINALS, 1, 3), ids=str)
def test_the_answer_is_the_same_on_every_terminal(printed: bytes, settings: dict[str, str]) -> None:
    done = process("fit", JOB, settings=settings)
    assert done.returncode == 0
    assert done.stdout == printed
    assert b"\x1b" not in done.stdout
    printed.decode("ascii")


@pytest.mark.parametrize("encoding", some(["cp1252", "cp437", "ascii", "utf-8"], 2, 2))
def test_a_name_that_a_terminal_cannot_show_is_no_fault(tmp_path: Path, encoding: str) -> None:
    text = DRUM.replace("low drum", "\u5e95\u9f13 \u00e9")
    job = tmp_path / "drum.yaml"
    job.write_text(text, encoding="utf-8")
    old = {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    done = process("fit", job, settings=old)
    assert done.returncode == 0, done.stderr
    assert b"FITS" in done.stdout
    job.write_text(text.replace("kind: ring", "kind: r\u00efng \u5e95"), encoding="utf-8")
    wrong = process("fit", job, settings=old)
    assert wrong.returncode == 2
    assert len(wrong.stderr.splitlines()) == 1


# The demo's folder.


def test_the_demo_writes_over_nothing(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "job.yaml").write_text("mine", encoding="utf-8")
    told = "this is there already, and the demo writes over nothing; name a new folder"
    assert refused("demo", "mine", cwd=tmp_path) == [f"mine: {told}"]
    assert refused("demo", "mine/job.yaml", cwd=tmp_path) == [f"mine/job.yaml: {told}"]
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["job.yaml"]
    assert (tmp_path / "mine" / "job.yaml").read_text(encoding="utf-8") == "mine"


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """Make a folder that nobody, not even an administrator, can write into."""
    folder.mkdir()
    folder.chmod(0o555)
    change = shutil.which("chattr")
    fixed = change and subprocess.run([change, "+i", folder], check=False, capture_output=True)
    try:
        yield
    finally:
        if change and fixed and not fixed.returncode:
            subprocess.run([change, "-i", folder], check=True)
        folder.chmod(0o755)


def writable(folder: Path) -> bool:
    try:
        (folder / "try").touch()
    except OSError:
        return False
    return True


def test_the_demo_in_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    shelf = tmp_path / "shelf"
    with read_only(shelf):
        if writable(shelf):
            pytest.skip("this administrator writes everywhere")
        (told,) = refused("demo", "shelf/new", cwd=tmp_path)
        assert told.startswith("shelf/new: cannot make this folder: ")
        assert not (shelf / "new").exists()


def test_the_demo_below_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    assert refused("demo", "file/new", cwd=tmp_path) == [
        "file/new: cannot make this folder: Not a directory"
    ]
