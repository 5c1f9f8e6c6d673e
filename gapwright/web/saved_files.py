"""Opens, checks and saves a file of the folder for the editor.

A file is written only where its kind allows the content, where it has not changed since it was
opened, and where it is inside the folder.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from hashlib import sha256
from threading import Lock
from typing import TYPE_CHECKING

from gapwright.output.files import write
from specs.errors import InputError, Problem, refusal
from specs.files.parse import parse_file
from specs.files.read import shelf_of
from specs.formats.plain_file import content
from specs.formats.yaml import parse

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.web.folder import Shop

MOST_BYTES = 300_000
"""The limit allows the text, percent-encoded, to be sent back in one request."""
MOST_READ = 2_100_000
"""Larger than any file that is read, so that a mark covers all of it."""
NAME = re.compile(r"[A-Za-z0-9_][\w .-]{0,79}\.ya?ml", re.ASCII)
CHANGED = (
    "changed since it was opened here, and is left as it is now; open it again and bring over what "
    "you changed"
)
_WRITING = Lock()


@dataclass(frozen=True, slots=True)
class OpenedFile:
    """A file as it was opened: its text with plain line ends, and a mark of all its bytes."""

    name: str
    text: str
    mark: str


def opened(shop: Shop, name: str) -> OpenedFile:
    """Open a file for editing; raises InputError where that cannot be done without loss."""
    raw = content(shop.path(name), MOST_READ)
    if len(raw) > MOST_BYTES:
        sentence = f"is larger than {MOST_BYTES // 1_000} kB; edit it with a text editor"
        raise InputError(Problem(sentence, name))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        sentence = "is not UTF-8 text; save it as UTF-8 with a text editor first"
        raise InputError(Problem(sentence, name)) from None
    return OpenedFile(name, plain(text), marked(raw))


def check(shop: Shop, name: str, text: str) -> None:
    """Check a text that is to be the content of a file.

    Raises InputError with everything that is wrong with it.
    """
    source = parse(text, str(shop.folder / name))
    held = {key for key, value in source.data.items() if isinstance(value, dict)}
    if "job" in held:
        shop.case(source)
    elif "kit" in held:
        shop.case(source, needs=("unit", "kit"))
    elif "unit" in held:
        shop.case(source, needs=("unit", "shelf") if "shelf" in source.data else ("unit",))
    elif "shelf" in held:
        taken = parse_file(source)
        if taken.problems:
            raise refusal(taken.problems)
        shelf_of(text.encode(), source.file)
    else:
        sentence = (
            "holds no unit, no shelf, no kit and no job; write one under a key such as `unit`"
        )
        raise InputError(Problem(sentence, source.file))


def save(shop: Shop, name: str, text: str, mark: str) -> None:
    """Check and write a file that was opened before.

    Parameters
    ----------
    shop
        The folder.
    name
        The file's name from there.
    text
        Its new text.
    mark
        The mark it had when it was opened.

    Raises
    ------
    InputError
        Where the text is wrong or the file has changed since; the file is left as it is.
    """
    check(shop, name, text)
    put_over(shop, name, text, mark)


def put_over(shop: Shop, name: str, text: str, mark: str) -> None:
    """Write a file that was opened and checked; raises InputError where it has changed since."""
    with _WRITING:
        file = shop.path(name).resolve()
        raw = content(file, MOST_READ)
        if marked(raw) != mark:
            raise InputError(Problem(CHANGED, name))
        _put(file, text.replace("\n", "\r\n") if b"\r\n" in raw else text, name)


def make(shop: Shop, name: str, text: str) -> None:
    """Check and write a new file; raises InputError where its name is not allowed or is taken."""
    if not NAME.fullmatch(name):
        sentence = "write a name such as unit-7.yaml: letters, digits, - and _, ending in .yaml"
        raise InputError(Problem(sentence, field="name"))
    check(shop, name, text)
    taken = Problem(f"{name} is there already; choose another name", field="name")
    put_new(shop, name, text, taken)


def put_new(shop: Shop, name: str, text: str, taken: Problem) -> None:
    """Write a new file, which nobody else can make at the same time.

    Raises InputError with `taken` where there is such a file, or where it cannot be written.
    """
    with _WRITING:
        file = shop.folder / name
        try:
            file.open("xb").close()
        except FileExistsError:
            raise InputError(taken) from None
        except OSError as error:
            raise InputError(Problem(f"cannot be written: {error.strerror}", name)) from None
        try:
            _put(file, text, name)
        except InputError:
            file.unlink()
            raise


def plain(text: str) -> str:
    """Return a text with single line feeds as line ends."""
    return re.sub("\r\n?", "\n", text)


def mark_of(shop: Shop, name: str) -> str:
    """Return the mark of a file's content; empty where it cannot be read."""
    file = shop.path(name)
    try:
        return marked(content(file, MOST_READ))
    except InputError:
        return ""


def marked(raw: bytes) -> str:
    """Return a short hash of a file's content."""
    return sha256(raw).hexdigest()[:16]


def _put(file: Path, text: str, name: str) -> None:
    try:
        write(text.encode(), file)
    except OSError as error:
        raise InputError(Problem(f"cannot be written: {error.strerror}", name)) from None
