"""What belongs together: sets of parts and facts of which all are of one set, or none fits.

    piston and spring:
      sets:
        deep: {piston height: 1.315 ± .002, piston spring: nine turns}
        shallow: {piston height: 1.190 ± .002, piston spring: twelve turns}
      would: the spring goes solid before the pack is pressed

A set names things: a fact of the unit, a family (its size, or what its one thickness measured), a
pack (its layout), or a thing of its own, which a job states under `found`. All that a job says must
leave one set; what the solve chooses is then of a set that is left.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from pydantic import Field

from specs.findings import plain
from specs.values.fields import Names, Span, Text, Written
from specs.values.lengths import LengthError, parse_length
from specs.values.ranges import parse_range

if TYPE_CHECKING:
    from specs.values.lengths import Length, LengthUnit


class Belonging(Written):
    """Things that go together in sets, never mixed."""

    sets: dict[Text, dict[Text, Names]] = Field(
        description="The sets by name. Each names the same things, with what they are in it: "
        "words, a length as it measures (1.315 ± .002), sizes of a family, layouts of a pack.",
        examples=["{deep: {piston height: 1.315 ± .002, spring: nine turns}, shallow: {...}}"],
    )
    would: Text = Field(
        description="What a mixture would do, repeated in the answer.",
        examples=["the spring goes solid before the pack is pressed"],
    )

    @property
    def things(self) -> tuple[str, ...]:
        """What its sets name."""
        return tuple(dict.fromkeys(thing for one in self.sets.values() for thing in one))

    def sets_with(
        self, thing: str, value: str, measured: Length | None, length: LengthUnit | None
    ) -> list[str]:
        """The sets a thing can be of, found as `value`, or `measured` as a length.

        Bare lengths of the sets are in `length`.
        """
        return [
            name
            for name, one in self.sets.items()
            if any(is_as(stated, value, measured, length) for stated in one[thing])
        ]


def is_as(stated: str, found: str, measured: Length | None, length: LengthUnit | None) -> bool:
    """Whether a thing was found as it is stated: the same words, or a length in its range."""
    if plain(stated) == plain(found):
        return True
    if measured is None:
        return False
    span = range_of(stated, length)
    return span is not None and span.holds(measured)


def as_length(text: str, length: LengthUnit | None) -> Length | None:
    """A text as a length, where it is one."""
    with suppress(LengthError):
        return parse_length(text, length)
    return None


def range_of(stated: str, length: LengthUnit | None) -> Span | None:
    """A text as a range, both its ends alike where it is one length; None where it is neither."""
    with suppress(LengthError):
        return Span(*parse_range(stated, length))
    one = as_length(stated, length)
    return None if one is None else Span(one, one)
