"""The candidates for a part on the bench: the unit's sizes that agree with what is seen of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from specs.models.belonging import as_length, is_as, range_of
from specs.models.sets_left import own_things
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from specs.models.case import Case
    from specs.models.families import Family
    from specs.models.unit import Unit
    from specs.values.lengths import Length, LengthUnit


@dataclass(frozen=True, slots=True)
class Candidate:
    """A size of a family that a part may be, with the range of its thickness and its features."""

    family: str
    size: str
    """Empty for a family that is made in one thickness."""
    low: Length
    high: Length
    features: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        return f"{self.family} {self.size}".rstrip()

    @property
    def middle(self) -> Length:
        """The middle of its range."""
        return (self.low + self.high) / 2

    def feature(self, name: str) -> str | None:
        """Return what the unit file states of a feature; None where it states nothing."""
        return dict(self.features).get(name)


def measured_things(case: Case) -> Iterator[Candidate]:
    """Yield the things outside every stack that a length identifies, in each set that has one."""
    unit = case.unit
    for belonging in unit.belongs_together.values():
        own = own_things(unit, belonging)
        for name, one in belonging.sets.items():
            for thing, values in one.items():
                if thing not in own:
                    continue
                others = {other: what[0] for other, what in one.items() if other != thing}
                features = tuple({"family": thing, **others}.items())
                for value in values:
                    span = range_of(value, case.origins["unit"].length)
                    if span and span.low is not None and span.high is not None:
                        yield Candidate(thing, name, span.low, span.high, features)


def candidates_of(unit: Unit, *, used: bool = False) -> tuple[Candidate, ...]:
    """Return every size of every family of a unit.

    A `used` part may be thinner by as much as its family wears.
    """
    return tuple(
        _candidate(name, family, size, used=used)
        for name, family in unit.families.items()
        for size in (family.sizes or [""])
    )


def _candidate(name: str, family: Family, size: str, *, used: bool) -> Candidate:
    if size:
        printed = family.sizes[size].thickness
        low, high = printed.low or ZERO, printed.high or ZERO
    else:
        low = high = family.fixed or ZERO
    worn = _worn_by(family, size) if used else ZERO
    features = tuple({"family": name, **family.features_of(size)}.items())
    within = family.stated_tolerance
    return Candidate(name, size, low - within - worn, high + within, features)


def _worn_by(family: Family, size: str) -> Length:
    """Return how much thinner a used part of a size may be than it was new.

    This is what the unit file states. Where it states nothing, a family of one thickness and a
    size with a wear limit of its own may wear down to it, and no other part wears.
    """
    spec = family.sizes.get(size)
    own = spec is not None and (spec.wear_limit, spec.wears_by) != (None, None)
    stated = spec.wears_by if spec and own else family.wears_by
    if stated is not None:
        return stated
    limit = family.thinnest_used(size)
    if limit is None or not (own or len(family.sizes) < 2):  # noqa: PLR2004
        return ZERO
    return max(ZERO, (spec.nominal if spec else family.fixed or ZERO) - limit)


def agreeing(
    candidates: Iterable[Candidate], seen: Mapping[str, str], length: LengthUnit | None
) -> Iterator[Candidate]:
    """Yield the candidates that nothing seen contradicts.

    A feature that the unit file does not state contradicts nothing.

    Parameters
    ----------
    candidates
        The candidates to try.
    seen
        The features seen of the part, by name.
    length
        The unit of length for features written as bare numbers.
    """
    for candidate in candidates:
        stated = ((candidate.feature(name), value) for name, value in seen.items())
        if all(stated is None or matches(stated, value, length) for stated, value in stated):
            yield candidate


def matches(stated: str, value: str, length: LengthUnit | None) -> bool:
    """Tell whether a value seen is the value stated: the same words, or a length in its range."""
    return is_as(stated, value, as_length(value, length), length)


def feature_names(candidates: Iterable[Candidate]) -> list[str]:
    """Return the names of all features that the unit file states of some part."""
    return list(dict.fromkeys(name for one in candidates for name, _ in one.features))
