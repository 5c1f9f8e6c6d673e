"""Opening the user's files for reading, and making their names durable on the disk.

A pipe, a socket or a device is refused: a program that opens one may wait for ever, or read
without end.
"""

from __future__ import annotations

import os
from contextlib import contextmanager, suppress
from difflib import get_close_matches
from stat import S_ISDIR, S_ISREG
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from typing import BinaryIO

Mark = tuple[int, int]
"""The time and the size of a file, which change when it is written."""
NOT_PLAIN = "is no plain file but a pipe, a socket or a device: save it as a file and name that"


def content(path: Path, most: int = -1) -> bytes:
    """Read a file.

    Parameters
    ----------
    path
        The file.
    most
        Read only this many of its first bytes; all where it is negative.

    Returns
    -------
    bytes
        What the file holds.

    Raises
    ------
    InputError
        As `opened` does.
    """
    with opened(path) as stream:
        return stream.read(most)


def mark_of(path: Path) -> Mark | None:
    """Return the mark of a file as it stands now; None where there is none."""
    try:
        stat = path.stat()
    except (OSError, ValueError):
        return None
    return stat.st_mtime_ns, stat.st_size


@contextmanager
def opened(path: Path) -> Iterator[BinaryIO]:
    """Open a file to read its bytes, as a context manager.

    Raises InputError, also for a fault while it is read, with the fault and what to do.
    """
    try:
        _check_plain(path)
        with path.open("rb") as stream:
            yield stream
    except FileNotFoundError:
        raise _refusal(path, f"no such file{_nearest(path)}") from None
    except OSError as error:
        raise _refusal(path, _unreadable(error.strerror)) from None


def sync_folder(folder: Path) -> None:
    """Write the names of a folder's files to the disk, where the file system can do that."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _check_plain(path: Path) -> None:
    try:
        mode = path.stat().st_mode
    except ValueError as error:  # a name with a NUL
        raise _refusal(path, _unreadable(str(error))) from None
    if S_ISDIR(mode):
        raise _refusal(path, "is a folder: name a file in it")
    if not S_ISREG(mode):
        raise _refusal(path, NOT_PLAIN)


def _refusal(path: Path, sentence: str) -> InputError:
    return InputError(Problem(sentence, str(path)))


def _unreadable(reason: str | None) -> str:
    return f"cannot be read ({reason}): check the name and its permissions"


def _nearest(path: Path) -> str:
    try:
        names = [entry.name for entry in path.parent.iterdir()]
    except OSError:
        return ": its folder cannot be listed"
    close = get_close_matches(path.name, names, n=1)
    return f": did you mean {path.parent / close[0]}?" if close else ": check the name"
