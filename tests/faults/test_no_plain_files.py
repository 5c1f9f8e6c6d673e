"""A pipe, a socket or a device given as a file: refused at once, wherever a file is read."""

from __future__ import annotations

import os
import shutil
import signal
import socket
from typing import TYPE_CHECKING

import pytest

from specs.formats.plain_file import NOT_PLAIN
from tests.commands import DEMO, refused

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

COMMANDS = [
    "fit pipe",
    "fit job.yaml --unit pipe",
    "fit job.yaml --shelf pipe",
    "fit job.yaml --shelf pipe.db",
    "fit names-pipe.yaml",
    "check pipe",
    "batch pipe",
    "batch pipe.csv --unit unit.yaml",
    "batch folder --unit unit.yaml",
    "batch job.yaml --keep-plan pipe",
    "cover pipe",
    "cover kit.yaml --history pipe.csv",
    "tell --unit pipe 0.070",
    "tell --unit unit.yaml --list pipe.csv",
    "sheet pipe",
    "sheet job.yaml -o pipe.html",
    "kit check pipe",
    "kit check kit.yaml --job pipe",
    "kit check kit.yaml --history pipe.csv",
    "kit sheet pipe",
    "kit pack pipe --shelf shop.db",
    "stock kit unit.yaml --history pipe.csv",
    "stock shelf unit.yaml --history pipe.csv --jobs 4 --lead-time 1",
    "shelf list pipe",
    "shelf list pipe.db",
    "shelf import shop.db pipe.csv --mode add",
    "shelf import shop.db pipe.yaml --mode add",
    "shelf list shop.db --unit pipe",
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, a ledger, and a pipe nobody writes into under every ending."""
    from inventory import create_shelf

    folder = tmp_path_factory.mktemp("shop") / "demo"
    shutil.copytree(DEMO, folder)
    create_shelf(folder / "shop.db")
    text = (folder / "job.yaml").read_text(encoding="utf-8")
    (folder / "names-pipe.yaml").write_text(text.replace("unit.yaml", "pipe"), encoding="utf-8")
    (folder / "folder").mkdir()
    for ending in ("", ".yaml", ".csv", ".db", ".html"):
        os.mkfifo(folder / f"pipe{ending}")
    os.mkfifo(folder / "folder" / "pipe.yaml")
    return folder


@pytest.fixture(autouse=True)
def _in_time() -> Iterator[None]:
    """Whoever waits for a pipe is called away."""

    def call_away(*_: object) -> None:
        raise TimeoutError

    before = signal.signal(signal.SIGALRM, call_away)
    signal.alarm(10)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_pipe_is_refused_wherever_a_file_is_read(folder: Path, command: str) -> None:
    told = refused(*command.split(), cwd=folder)
    assert [line.partition(": ")[2] for line in told if "pipe" in line.partition(": ")[0]] == [
        NOT_PLAIN
    ]


def test_a_device_and_a_socket_are_refused(tmp_path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(tmp_path / "socket"))
        for name in ("/dev/zero", "/dev/null", tmp_path / "socket"):
            assert refused("fit", name) == [f"{name}: {NOT_PLAIN}"]
            assert refused("shelf", "list", name) == [f"{name}: {NOT_PLAIN}"]
