"""Puts what was written into a file, whole or not at all."""

from __future__ import annotations

import os
from contextlib import suppress
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem
from specs.formats.plain_file import sync_folder

if TYPE_CHECKING:
    from pathlib import Path


def put(text: str, file: Path, *, replace: bool) -> None:
    """Write a text to a file; InputError where one is there or none can be made."""
    check_new(file, replace=replace)
    encoding = "utf-8-sig" if file.suffix.lower() == ".csv" else "utf-8"  # spreadsheets want it
    try:
        write(text.encode(encoding), file)
    except OSError as error:
        raise InputError(Problem(f"cannot be written: {error.strerror}", str(file))) from None


def check_ending(file: Path, endings: tuple[str, ...], name: str) -> None:
    """Raise InputError with what to name instead where a file has none of some endings."""
    if file.suffix.lower() not in endings:
        found = f'found "{file.suffix}"' if file.suffix else "found no ending"
        raise InputError(Problem(f"{found}; name {name}", str(file)))


def check_new(file: Path, *, replace: bool) -> None:
    """Raise InputError where a file is there that is not to be replaced."""
    if file.exists() and not replace:
        sentence = "is there already and is left as it is; name another, or say --replace"
        raise InputError(Problem(sentence, str(file)))


def check_folder(file: Path) -> None:
    """Raise InputError where there is no folder for a file."""
    if not file.parent.is_dir():
        sentence = "cannot be written: there is no such folder; make it, or name another"
        raise InputError(Problem(sentence, str(file)))


def write(raw: bytes, file: Path) -> None:
    """Write a file, or leave an older one as it is; OSError where that fails.

    All of it is on the disk before it takes its name: no loss of power leaves half a file.
    """
    unfinished = file.parent / f".{file.name}.unfinished"
    try:
        with unfinished.open("wb") as stream:
            stream.write(raw)
            stream.flush()
            os.fsync(stream.fileno())
        unfinished.replace(file)
        sync_folder(file.parent)
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise OSError(error.errno, error.strerror, str(file)) from None
