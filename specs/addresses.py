"""Where a shelf lies: in a file a person writes, in a ledger's file, or on a server."""

from __future__ import annotations

from pathlib import Path

SERVER = ("postgresql://", "postgres://")
LEDGERS = (".db", ".sqlite", ".sqlite3")
_DATABASE = b"SQLite format 3\0"


def is_server(address: str | Path) -> bool:
    """Whether an address is of a server."""
    return str(address).startswith(SERVER)


def is_ledger(address: str | Path) -> bool:
    """Whether an address is of a ledger, by its name or its first bytes, and of no shelf file."""
    if is_server(address) or Path(address).suffix in LEDGERS:
        return True
    try:
        with Path(address).open("rb") as file:
            return file.read(len(_DATABASE)) == _DATABASE
    except (OSError, ValueError):
        return False  # told where it is read
