"""The aims as numbers to be made least, one after the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from collections.abc import Set as AbstractSet


@dataclass(frozen=True, slots=True)
class Level:
    """One number to make least, in its turn."""

    aim: str
    measure: Literal[
        "rank", "thin", "heat", "worst middle", "middle", "change", "worst", "ratio",
        "deviation", "shims", "scarce",
        "pinned", "priority", "number", "kept", "cost",
    ]  # fmt: skip
    """The last five are of a batch alone."""
    shifts: bool = False
    grade: int = 0

    @property
    def worst(self) -> bool:
        """Whether gaps are joined by their worst rather than by their sum."""
        return self.measure in ("worst middle", "worst")

    @property
    def moves(self) -> bool:
        """Whether it depends on where a gap lies, not only on its parts."""
        return self.measure in ("worst middle", "middle", "worst", "ratio", "deviation")

    @property
    def in_steps(self) -> bool:
        """Whether it is counted in steps of the grid."""
        return self.measure in ("heat", "deviation")


def levels_of(aims: Iterable[str], top: int, works: AbstractSet[bool]) -> tuple[Level, ...]:
    """The levels of some aims in their order.

    `top` is the highest grade of a steel, `works` whether there are gaps that shift, that do not.
    """
    return tuple(level for aim in aims for level in _levels(aim, top, works))


def _levels(aim: str, top: int, works: AbstractSet[bool]) -> Iterator[Level]:
    if aim == "thin":
        for shifts in sorted(works, reverse=True):
            yield from (Level(aim, "thin", shifts, grade) for grade in range(1, top + 1))
        return
    yield from {
        "layout": (Level(aim, "rank"),),
        "heat": (Level(aim, "heat"),),
        "middle": (Level(aim, "worst middle"), Level(aim, "middle")),
        "change": (Level(aim, "change"),),
        "aim": (Level(aim, "worst"), Level(aim, "ratio"), Level(aim, "deviation")),
        "spare": (Level(aim, "shims"), Level(aim, "scarce")),
    }[aim]
