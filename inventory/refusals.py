"""The refusals of a shelf, each with a sentence for the bench. A command ends with exit code 2.

ShelfError
├── ShortShelfError       the shelf has fewer parts than asked for; `shortages` lists all of them
├── ShortKitError         it has fewer parts than kits take; `short` lists all of them
├── ChangedShelfError     lots moved since they were looked at: look again
├── OtherRequestError     the key was posted before with other movements
├── NotAShelfError        no file, an empty, foreign or cut one, or tables of another program
├── DamagedShelfError     a shelf that no longer is as it was written
├── NewerShelfError       a newer gapwright wrote it
├── BusyShelfError        another writer did not finish in time; nothing was posted
├── FullShelfError        the disk is full; nothing was posted
└── ReadOnlyShelfError    it may be read, not written; nothing was posted
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from inventory.movements import Movement

NOTHING = "nothing was posted"
NOT_DRAWN = "nothing was drawn"
RESTORE = "copy it away, then bring back a backup"


class ShelfError(InputError):
    """A shelf refuses a request; the shelf is left as it was."""

    def __init__(self, shelf: str, *sentences: str) -> None:
        super().__init__(*(Problem(sentence, shelf) for sentence in sentences))


@dataclass(frozen=True, slots=True)
class Out:
    """The parts of one size that were issued to a job, or to all, and those that came back."""

    issued: int = 0
    back: int = 0

    @property
    def number(self) -> int:
        """How many are out."""
        return max(0, self.issued - self.back)


@dataclass(frozen=True, slots=True)
class Shortage:
    """A movement its lot does not allow: how many it would allow, and who reserved the rest."""

    movement: Movement
    left: int
    on_hand: int
    holders: tuple[tuple[str, int], ...]
    out: Out = Out()
    """For a return: what went out and came back before."""

    def __str__(self) -> str:
        movement = self.movement
        if movement.kind == "return":
            return self._return
        wanted = f"{movement.part}: {movement.number} to {movement.kind}"
        if movement.kind == "count":
            return f"{wanted}, {self.left} reserved ({self._who}); release some first"
        if movement.kind == "release" or movement.reserved:
            return f"{wanted}, {self.left} reserved for {movement.job}"
        rest = f"; reserved: {self._who}" if self.holders else ""
        return f"{wanted}, {self.left} free of {self.on_hand} on hand{rest}"

    @property
    def _return(self) -> str:
        movement, out = self.movement, self.out
        size = f"{movement.part.family} {movement.part.size}"
        from_, to = (f" from {movement.job}", " to it") if movement.job else ("", "")
        wanted = f"{size}: {movement.number} to return{from_}"
        if not out.issued:
            return f"{wanted}, none went out{to}"
        return f"{wanted}, {out.issued} went out{to} and {out.back} came back"

    @property
    def _who(self) -> str:
        return ", ".join(f"{number} for {job}" for job, number in self.holders)


class ShortShelfError(ShelfError):
    """The shelf has fewer parts than asked for."""

    def __init__(self, shelf: str, shortages: tuple[Shortage, ...]) -> None:
        self.shortages = shortages
        super().__init__(shelf, *map(str, shortages))


@dataclass(frozen=True, slots=True)
class ShortPart:
    """A part of which a shelf has fewer than some kits take."""

    family: str
    size: str
    wanted: int
    free: int
    """New ones that nobody has reserved."""
    on_hand: int
    """All of them, used and reserved ones too."""
    kept: bool
    """Whether the shelf ever had any of it, new or used."""

    def __str__(self) -> str:
        part = f"{self.wanted} x {self.family} {self.size}".rstrip()
        if not self.kept:
            return f"{part} (not kept on this shelf)"
        if self.on_hand == self.free:
            return f"{part} ({self.free or 'none'} on hand)"
        return f"{part} ({self.free or 'none'} new and free of {self.on_hand} on hand)"


class ShortKitError(ShelfError):
    """A shelf has fewer parts than some kits take."""

    def __init__(self, shelf: str, short: tuple[ShortPart, ...]) -> None:
        self.short = short
        unkept = next((one.family for one in short if not one.kept), "")
        by_hand = f'; what this shelf does not keep: --by-hand "{unkept}"' * bool(unkept)
        super().__init__(shelf, f"short of {', '.join(map(str, short))}; {NOT_DRAWN}{by_hand}")


class ChangedShelfError(ShelfError):
    """Lots of a request moved since they were looked at."""


class OtherRequestError(ShelfError):
    """A request bears the key of an earlier one with other movements."""


class NotAShelfError(ShelfError):
    """There is no shelf at an address."""


class DamagedShelfError(ShelfError):
    """A shelf no longer is as it was written."""


class NewerShelfError(ShelfError):
    """A newer gapwright wrote the shelf, in a version that this one does not know."""

    def __init__(self, shelf: str, version: int, known: int) -> None:
        sentence = (
            f"is of version {version}, this gapwright knows {known}; install a newer gapwright"
        )
        super().__init__(shelf, sentence)


class BusyShelfError(ShelfError):
    """Another writer kept the shelf locked for longer than we wait."""

    def __init__(self, shelf: str, patience: int) -> None:
        sentence = f"somebody else has kept it for {patience} s; {NOTHING}, try again"
        super().__init__(shelf, sentence)


class FullShelfError(ShelfError):
    """The disk that holds the shelf is full."""

    def __init__(self, shelf: str) -> None:
        super().__init__(shelf, f"the disk is full; {NOTHING}, make room and try again")


class ReadOnlyShelfError(ShelfError):
    """A shelf may be read, and not written."""
