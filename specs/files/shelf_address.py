"""The address of a shelf: a file that a person writes, a ledger's file, or a server."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

from specs.errors import InputError
from specs.formats.plain_file import content

SERVER = ("postgresql://", "postgres://")
LEDGERS = (".db", ".sqlite", ".sqlite3")
_DATABASE = b"SQLite format 3\0"


def is_server(address: str | Path) -> bool:
    """Say whether an address is that of a server."""
    return str(address).startswith(SERVER)


def is_ledger(address: str | Path) -> bool:
    """Say whether an address is that of a ledger: by its name, or by the file's first bytes."""
    if is_server(address) or Path(address).suffix in LEDGERS:
        return True
    try:
        return content(Path(address), len(_DATABASE)) == _DATABASE
    except InputError:
        return False  # reported where it is read


def without_password(address: str) -> str:
    """Return an address without the password in it, as pages and sheets may show it."""
    if not is_server(address):
        return address
    parts = urlsplit(address)
    where = parts.netloc.rpartition("@")
    return f"{parts.scheme}://{where[0].partition(':')[0]}{where[1]}{where[2]}{parts.path}"
