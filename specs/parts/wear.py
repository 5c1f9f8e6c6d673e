"""Whether a used part may be used again: its readings against the unit's limits, and what was seen.

A reading on the limit is still good. A part is good only where every limit that the unit file has
for its family was read and kept, by more than the gauge can tell, and nothing was seen of it that
the file rejects or does not know.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from specs.errors import listed
from specs.findings import plain
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from specs.models.families import Family
    from specs.values.lengths import Length, LengthUnit

Standing = Literal["good", "in doubt", "worn"]


@dataclass(frozen=True, slots=True)
class Used:
    """A used part as it was read and looked at."""

    thickness: Length
    """The thinnest of its places."""
    tells: Length
    """The step that the gauge can tell."""
    flat: Length | None = None
    """Its deviation from flatness; None where it was not read."""
    cone: Length | None = None
    """Its coning; None where it was not read."""
    found: tuple[str, ...] = ()
    """What was seen of it, in the words of the unit file or others."""


@dataclass(frozen=True, slots=True)
class Ground:
    """One reason not to call a part good."""

    worn: bool
    """Whether the part is worn; else it is in doubt."""
    words: str


def standing(grounds: tuple[Ground, ...]) -> Standing:
    """Conclude whether a part is good, in doubt or worn."""
    if any(ground.worn for ground in grounds):
        return "worn"
    return "in doubt" if grounds else "good"


def grounds_of(family: Family, used: Used, unit: LengthUnit, size: str = "") -> Iterator[Ground]:
    """Yield every reason not to put a used part back on the shelf.

    Parameters
    ----------
    family
        The part's family, with its limits.
    used
        The part as read and looked at.
    unit
        The unit to print lengths in.
    size
        The part's size; empty where its family has but one thickness.

    Yields
    ------
    Ground
        One for each limit that is exceeded, kept by less than the gauge can tell, or not read; for
        each reading without a limit; and for each thing seen that the unit file rejects or does not
        know.
    """
    limit = family.thinnest_used(size)
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


def uneven_grounds(at: Sequence[Length], tells: Length, unit: LengthUnit) -> Iterator[Ground]:
    """Yield a reason not to use a part, used or new, whose places are not equally thick.

    Parameters
    ----------
    at
        Its thickness at each place.
    tells
        The step that the gauge can tell: readings of one thickness differ by twice that at most.
    unit
        The unit to print lengths in.
    """
    apart = max(at) - min(at)
    if apart > tells * 2:
        words = f"uneven: its places differ by {show(apart, unit)}, more than the gauge explains"
        yield Ground(worn=False, words=words)


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
