"""Why a shelf refuses: each a sentence for the bench, each with exit code 2.

ShelfError
├── ShortShelfError       the shelf does not have what is asked; `shortages` says all of it
├── ShortKitError         it does not have what a kit takes; `short` says all of it
├── ChangedShelfError     its lots moved since they were looked at: look again
├── OtherRequestError     the key was posted before with other movements
├── NotAShelfError        no file there, an empty, foreign or cut one, or somebody else's tables
├── DamagedShelfError     it is a shelf, and no longer what was written
├── NewerShelfError       a newer gapwright has written it
├── BusyShelfError        somebody else writes and did not end in time; nothing was posted
├── FullShelfError        no room left where it lies; nothing was posted
└── ReadOnlyShelfError    it may be read and not written; nothing was posted
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
    """A shelf cannot do what is asked; it is left as it was."""

    def __init__(self, shelf: str, *sentences: str) -> None:
        super().__init__(*(Problem(sentence, shelf) for sentence in sentences))


@dataclass(frozen=True, slots=True)
class Shortage:
    """A movement its lot cannot make: how many it could, and who has reserved the rest."""

    movement: Movement
    left: int
    on_hand: int
    holders: tuple[tuple[str, int], ...]

    def __str__(self) -> str:
        movement = self.movement
        asked = f"{movement.part}: {movement.number} to {movement.kind}"
        if movement.kind == "count":
            return f"{asked}, {self.left} reserved ({self._who}); release some first"
        if movement.kind == "release" or movement.reserved:
            return f"{asked}, {self.left} reserved for {movement.job}"
        rest = f"; reserved: {self._who}" if self.holders else ""
        return f"{asked}, {self.left} free of {self.on_hand} on hand{rest}"

    @property
    def _who(self) -> str:
        return ", ".join(f"{number} for {job}" for job, number in self.holders)


class ShortShelfError(ShelfError):
    """The shelf does not have what is asked for."""

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
    """A shelf does not have what some kits take."""

    def __init__(self, shelf: str, short: tuple[ShortPart, ...]) -> None:
        self.short = short
        unkept = next((one.family for one in short if not one.kept), "")
        by_hand = f'; what this shelf does not keep: --by-hand "{unkept}"' * bool(unkept)
        super().__init__(shelf, f"short of {', '.join(map(str, short))}; {NOT_DRAWN}{by_hand}")


class ChangedShelfError(ShelfError):
    """Lots of a request moved since they were looked at."""


class OtherRequestError(ShelfError):
    """A key was used before for something else."""


class NotAShelfError(ShelfError):
    """There is no shelf at an address."""


class DamagedShelfError(ShelfError):
    """A shelf is no longer what was written to it."""


class NewerShelfError(ShelfError):
    """A shelf has a version this gapwright does not know."""

    def __init__(self, shelf: str, version: int, known: int) -> None:
        told = f"is of version {version}, this gapwright knows {known}; install a newer gapwright"
        super().__init__(shelf, told)


class BusyShelfError(ShelfError):
    """Somebody else kept a shelf for longer than we wait."""

    def __init__(self, shelf: str, patience: int) -> None:
        told = f"somebody else has kept it for {patience} s; {NOTHING}, try again"
        super().__init__(shelf, told)


class FullShelfError(ShelfError):
    """There is no room left where a shelf lies."""

    def __init__(self, shelf: str) -> None:
        super().__init__(shelf, f"the disk is full; {NOTHING}, make room and try again")


class ReadOnlyShelfError(ShelfError):
    """A shelf may be read and not written."""
