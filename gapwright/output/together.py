"""Writes several files together or none of them, however the program ends meanwhile.

What will be written is first put beside each file, as `.NAME.together`, with the digests of all
old and new texts. Once it is on the disk beside all of them the first file is replaced; whoever
finds it there later finishes it, and throws away what is not beside all. The same file is the lock
under which one program at a time writes.
"""

from __future__ import annotations

import errno
import json
import os
import sys
import time
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, BinaryIO

from gapwright.output.files import write
from specs.errors import InputError, Problem
from specs.formats.plain_file import content, sync_folder
from specs.formats.yaml import parse

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

PATIENCE = 10.0
"""How many seconds to wait for a program that writes the same files."""
_PAUSE = 0.01
_SECTIONS = {"job", "shelf"}
_BUSY = {errno.EACCES, errno.EAGAIN, errno.EDEADLK}
_HELD = "is being written by another program: try again"
_STRANGE = "names files that hold no job and no shelf: look at it, and delete it"


class ChangedError(InputError):
    """A file was changed since it was read; none is written."""

    def __init__(self, file: str) -> None:
        sentence = "was changed since it was read, and nothing is written: try again"
        super().__init__(Problem(sentence, file))


@dataclass(frozen=True, slots=True)
class Rewrite:
    """A file to write: the text it held when it was read, and its new one."""

    file: Path
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class _Step:
    """A change as it is kept beside each of the files."""

    file: Path
    before: str
    """The digest of the old text."""
    after: str
    """The digest of the new text."""
    text: str


def write_together(changes: Sequence[Rewrite]) -> None:
    """Write files together or none of them.

    Parameters
    ----------
    changes
        The files, of jobs and shelves, with their old and new texts.

    Raises
    ------
    ChangedError
        Where a file no longer holds its old text; nothing is written.
    InputError
        Where one cannot be written, or another program holds it for longer than `PATIENCE`.
    """
    changes = [Rewrite(one.file.resolve(), one.before, one.after) for one in changes]
    files = [change.file for change in changes]
    while True:
        for file in files:
            finish(file)
        with _alone(files) as held:
            if any(_kept(file, held) for file in files):
                continue  # another program began to write and was ended
            _write(changes, held)
            return


def finish(file: Path) -> bool:
    """Write what a program began to write together with a file, and say whether there was any.

    Raises InputError where one of the files was changed since; all of them are left as they are.
    """
    try:
        file = file.resolve()
        begun_here = _beside(file).exists()
    except (OSError, RuntimeError, ValueError):  # no such name can be; who reads it says so
        return False
    if not begun_here:
        return False
    files: set[Path] = set()
    named = {file}
    while files != named:
        files = named
        with _alone(files) as held:
            steps = _kept(file, held)
            named = {file, *(step.file for step in steps)}
            if files != named:
                continue
            begun = bool(steps) and all(_kept(each, held) == steps for each in files)
            if begun:
                _complete(steps)
            _clear(held.values() if begun else [held[file]])
    return begun


def finish_in(folder: Path) -> None:
    """Write what a program began to write together in a folder; errors are those of `finish`."""
    for kept in sorted(folder.glob(_beside(folder / "*").name)):
        finish(folder / kept.name.removeprefix(".").removesuffix(".together"))


def _write(changes: Sequence[Rewrite], held: Mapping[Path, BinaryIO]) -> None:
    """Write under the lock of each file."""
    for change in changes:
        if _text(change.file) != change.before:
            raise ChangedError(str(change.file))
    if len(changes) > 1:
        try:
            for file, stream in held.items():
                _keep(changes, file, stream)
        except OSError as error:
            _clear(held.values())
            raise _unwritable(changes[0].file, error) from None
    try:
        for change in changes:
            _replace(change.file, change.after)
    except InputError:
        for change in changes:
            if _text(change.file) != change.before:
                _replace(change.file, change.before)
        _clear(held.values())
        raise
    _clear(held.values())


def _replace(file: Path, text: str) -> None:
    try:
        write(text.encode(), file)
    except OSError as error:
        raise _unwritable(file, error) from None


def _unwritable(file: Path, error: OSError) -> InputError:
    return InputError(Problem(f"cannot be written: {error.strerror}", str(file)))


def _complete(steps: Sequence[_Step]) -> None:
    for step in steps:
        text = _text(step.file)
        if _digest(text) not in {step.before, step.after}:
            others = ", ".join(other.file.name for other in steps if other != step)
            sentence = (
                f"was being written together with {others} when the program was ended, and was "
                f"changed since: bring over what stands in {_beside(step.file).name}, and delete it"
            )
            raise InputError(Problem(sentence, str(step.file)))
        if not _SECTIONS & parse(text, str(step.file)).data.keys():
            raise InputError(Problem(_STRANGE, str(_beside(step.file))))
    for step in steps:
        _replace(step.file, step.text)


def _text(file: Path) -> str:
    try:
        return content(file).decode()
    except UnicodeDecodeError:
        raise InputError(Problem("is not UTF-8: save it as UTF-8", str(file))) from None


def _digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()


# What is kept beside a file while several are written.


def _beside(file: Path) -> Path:
    return file.parent / f".{file.name}.together"


def _keep(changes: Sequence[Rewrite], file: Path, stream: BinaryIO) -> None:
    steps = [
        {
            "file": os.path.relpath(one.file, file.parent),
            "before": _digest(one.before),
            "after": _digest(one.after),
            "text": one.after,
        }
        for one in changes
    ]
    written = json.dumps(steps, ensure_ascii=False, indent=1)
    stream.write(f"{_digest(written)}\n{written}".encode())
    stream.flush()
    os.fsync(stream.fileno())
    sync_folder(file.parent)


def _kept(file: Path, held: Mapping[Path, BinaryIO]) -> list[_Step]:
    """Return what is kept beside a file; nothing where it was never written whole."""
    stream = held[file]
    stream.seek(0)
    digest, _, written = stream.read().decode(errors="replace").partition("\n")
    steps = json.loads(written) if _digest(written) == digest else []
    return [_Step(**{**step, "file": (file.parent / step["file"]).resolve()}) for step in steps]


def _clear(streams: Iterable[BinaryIO]) -> None:
    for stream in streams:
        stream.truncate(0)


@contextmanager
def _alone(files: Iterable[Path]) -> Iterator[dict[Path, BinaryIO]]:
    """Lock what is kept beside each file, in one order for all programs, and open it."""
    with ExitStack() as stack:
        yield {file: stack.enter_context(_locked(file)) for file in sorted(set(files))}


@contextmanager
def _locked(file: Path) -> Iterator[BinaryIO]:
    until, kept = time.monotonic() + PATIENCE, _beside(file)
    while True:
        try:
            stream = kept.open("a+b")
        except OSError as error:
            raise _unwritable(file, error) from None
        with stream:
            if _lock(stream) and _is_named(stream, kept):
                try:
                    yield stream
                finally:
                    if not os.fstat(stream.fileno()).st_size:
                        with suppress(OSError):  # Windows keeps what is open: an empty file stays
                            kept.unlink()
                return
        if time.monotonic() > until:
            raise InputError(Problem(_HELD, str(file)))
        time.sleep(_PAUSE)


def _is_named(stream: BinaryIO, name: Path) -> bool:
    """Say whether an opened file has its name still: its last holder may have removed it."""
    with suppress(OSError):
        return os.path.samestat(os.fstat(stream.fileno()), name.stat())
    return False


def _lock(stream: BinaryIO) -> bool:
    """Lock a file until it is closed; false where another program holds it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            stream.seek(1 << 30)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in _BUSY:
            return False
        raise InputError(Problem(f"cannot be locked: {error.strerror}", stream.name)) from None
    return True
