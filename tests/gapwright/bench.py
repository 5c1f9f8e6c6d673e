"""A person at a bench: a folder, a shelf in it, and the commands they run there."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from inventory import open_shelf
from tests.commands import ran

if TYPE_CHECKING:
    from pathlib import Path

    from inventory.movements import Entry


class Bench:
    """A person at a bench in a folder of their own, with a shelf at `shop.db`."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.address = str(folder / "shop.db")

    def run(self, *words: str) -> tuple[int, str, str]:
        """Run a command; gives its exit code and what it printed."""
        done = ran(*words, cwd=None)
        err = done.stderr.rstrip("\n").replace(f"{self.folder}/", "")
        return done.returncode, done.stdout.rstrip("\n"), err

    def shelf(self, verb: str, *words: str) -> str:
        """Run a command of the shelf that is carried out; gives what it printed."""
        code, out, err = self.run("shelf", verb, self.address, *words)
        assert (code, err) == (0, "")
        return out.replace(f"{self.folder}/", "")

    def json(self, verb: str, *words: str) -> dict[str, Any]:
        """What a command of the shelf prints as JSON."""
        told: dict[str, Any] = json.loads(self.shelf(verb, *words, "--json"))
        return told

    def refused(self, verb: str, *words: str) -> str:
        """Run a command of the shelf that is refused, the shelf left as it was; gives why."""
        before = self.entries()
        code, out, err = self.run("shelf", verb, self.address, *words)
        assert (code, out) == (2, "")
        assert self.entries() == before
        return err

    def write(self, name: str, text: str | bytes) -> str:
        """Write a file; gives its path."""
        path = self.folder / name
        path.write_bytes(text.encode() if isinstance(text, str) else text)
        return str(path)

    def entries(self) -> tuple[Entry, ...]:
        """All that the ledger has."""
        with open_shelf(self.address) as shelf:
            return shelf.history()

    def link(self) -> str:
        """The last link of the ledger, as it is printed."""
        with open_shelf(self.address) as shelf:
            return str(shelf.end()[1])

    def counts(self) -> dict[str, tuple[int, dict[str, int]]]:
        """How many there are of each lot there is something of, and for whom."""
        with open_shelf(self.address) as shelf:
            return {
                str(one.part): (one.on_hand, dict(one.holders))
                for one in shelf.balances() if one.on_hand
            }  # fmt: skip
