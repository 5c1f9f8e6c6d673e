"""Whether a used part may be used again: its readings against the unit's limits, and what was seen.

A reading on the limit is still good. A part is good only where every limit that the unit file has
for its family was read and kept, farther from it than the gauge can tell, and nothing was seen of
it that the file rejects or does not know.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from specs.errors import listed
from specs.findings import plain
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.families import Family
    from specs.values.lengths import Length, LengthUnit

Standing = Literal["good", "in doubt", "worn"]


@dataclass(frozen=True, slots=True)
class Used:
    """What was read and seen of a used part."""

    thickness: Length
    """The thinnest of its places."""
    tells: Length
    """What the gauge can tell of it."""
    flat: Length | None = None
    cone: Length | None = None
    found: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ground:
    """One reason that speaks against a part, or why it is not known to be good."""

    worn: bool
    words: str


def standing(grounds: tuple[Ground, ...]) -> Standing:
    """What to make of all that was looked at."""
    if any(ground.worn for ground in grounds):
        return "worn"
    return "in doubt" if grounds else "good"


def grounds_of(family: Family, used: Used, unit: LengthUnit) -> Iterator[Ground]:
    """Yield all that keeps a used part off the shelf."""
    limit = family.wear_limit
    if limit is not None and used.thickness < limit:
        words = f"{show(used.thickness, unit)} is under its wear limit {show(limit, unit)}"
        yield Ground(worn=True, words=words)
    elif limit is not None and used.thickness - limit < used.tells and used.thickness != limit:
        words = f"nearer its wear limit {show(limit, unit)} than the gauge can tell: read it finer"
        yield Ground(worn=False, words=words)
    for name, found, most in (
        ("flatness", used.flat, family.flat_within),
        ("coning", used.cone, family.cone_within),
    ):
        yield from _shape(name, found, most, unit)
    for seen in used.found:
        yield from _seen(family, seen)


def _shape(
    name: str, found: Length | None, most: Length | None, unit: LengthUnit
) -> Iterator[Ground]:
    if most is None and found is not None:
        yield Ground(worn=False, words=f"the unit file has no limit for its {name}; see the manual")
    elif most is not None and found is None:
        yield Ground(worn=False, words=f"its {name} is not read: {show(most, unit)} at most")
    elif most is not None and found is not None and found > most:
        words = f"{name} {show(found, unit)}, {show(most, unit)} at most"
        yield Ground(worn=True, words=words)


def _seen(family: Family, seen: str) -> Iterator[Ground]:
    rejects = {plain(name): why for name, why in family.reject_for.items()}
    if plain(seen) in rejects:
        yield Ground(worn=True, words=f"{seen}: {rejects[plain(seen)]}")
    elif plain(seen) not in map(plain, family.pass_with):
        known = listed([*family.reject_for, *family.pass_with])
        words = f"the unit file does not say what {seen} means (it knows {known}); see the manual"
        yield Ground(worn=False, words=words)
