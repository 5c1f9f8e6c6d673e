"""The unit file: one model of transmission as its maker's manual describes it.

Families of parts, packs and end plays with their stacks, windows, spaces and rules. What is
written here is all that is known of a unit; nothing is looked up later.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, PlainValidator, WithJsonSchema

from specs.errors import quoted
from specs.findings import near
from specs.models.aims import AIMS, Aim, CertaintyText
from specs.models.bands import Band
from specs.models.belonging import Belonging
from specs.models.families import Family
from specs.models.gaps import EndPlay, Gap, Pack, Reading
from specs.models.gauges import Gauge
from specs.models.kit import Replaced
from specs.models.stacks import Layout, Place, Shared, Window
from specs.values.fields import Flag, Names, Text, Whole, Written, refuse

if TYPE_CHECKING:
    from collections.abc import Iterable


_NUMBER = r"([0-9]{1,7}(?:\.[0-9]{1,4})?)"
_LIMIT = re.compile(rf"at (most|least) {_NUMBER}")
_BETWEEN = re.compile(rf"{_NUMBER} ?(?:to|-|–) ?{_NUMBER}")
LIMITS = "write at most 125, at least 90 or 90 to 125"

Limits = tuple[Fraction | None, Fraction | None]


def amount(text: str, of: str) -> Fraction | None:
    """A number as written, with or without what it counts; nothing where it is none."""
    found = re.fullmatch(_NUMBER, _bare(text, of))
    return Fraction(found[1]) if found else None


def limits(text: str, of: str) -> Limits | None:
    """The lowest and highest an amount may be, None for an open end; nothing where it is none."""
    plain = _bare(text, of)
    if limit := _LIMIT.fullmatch(plain):
        end = Fraction(limit[2])
        return (None, end) if limit[1] == "most" else (end, None)
    if between := _BETWEEN.fullmatch(plain):
        low, high = Fraction(between[1]), Fraction(between[2])
        return (low, high) if low <= high else None
    return None


def within(text: str | None, of: str, allowed: Iterable[str]) -> bool:
    """Whether an amount lies in one of some limits, its ends included."""
    found = None if text is None else amount(text, of)
    if found is None:
        return False
    ends = [end for end in (limits(one, of) for one in allowed) if end]
    return any(
        (low is None or low <= found) and (high is None or found <= high) for low, high in ends
    )


def _bare(text: str, of: str) -> str:
    return " ".join(text.split()).removesuffix(of).strip()


def _aims(value: Any) -> tuple[Aim, ...]:
    names = [value] if isinstance(value, str) else value
    if not isinstance(names, list) or not names:
        raise refuse(value, f"write a list of aims: {', '.join(AIMS)}")
    for position, name in enumerate(names):
        if name == "sure":
            raise refuse(
                name,
                "it is no aim any more: write safe, which keeps gaps clear of their limits, or ask "
                "`gapwright fit --sure 95`",
            )
        if name not in AIMS:
            raise refuse(name, f"the aims are {', '.join(AIMS)}")
        if name in names[:position]:
            raise refuse(name, "name each aim once")
    return tuple(names)


Aims = Annotated[
    tuple[Aim, ...],
    PlainValidator(_aims),
    WithJsonSchema({"type": "array", "items": {"enum": list(AIMS)}}),
]


class Rule(Written):
    """Parts that must go together, must not meet, or are bounded in number.

    A part is written `family` or `family/size`.
    """

    with_: Text | None = Field(
        None, description="Where this part is used ...", examples=["drum plate/cut"]
    )
    must: Text | None = Field(
        None, description="... this one must be too.", examples=["drum ring/wide"]
    )
    never: Text | None = Field(
        None, description="... this one must not be.", examples=["drum ring/wide"]
    )
    count: Text | None = Field(
        None, description="The part that is bounded in number.", examples=["drum steel/thin"]
    )
    at_most: Whole | None = Field(None, description="No more of it.", examples=["2"])
    at_least: Whole | None = Field(None, description="No fewer of it.", examples=["1"])
    in_: Text | None = Field(
        None, description="Only within this pack or end play.", examples=["low drum"]
    )
    preference: Flag = Field(
        "no",
        validate_default=True,
        description="yes where it may be given up; otherwise it guards someone.",
        examples=["yes"],
    )
    because: Text | None = Field(
        None,
        description="The reason, repeated in the answer.",
        examples=["the cut plate needs the wide ring"],
    )


class Fact(Written):
    """Something a job states about its unit, for layouts to depend on."""

    values: Names = Field((), description="What it may be, in words.", examples=["[deep, shallow]"])
    number_of: Text | None = Field(
        None,
        description="In place of words: what it is a number of. A layout then states limits: "
        "`only if: {engine torque: at most 300}`.",
        examples=["N m"],
    )
    default: Text | None = Field(
        None, description="What holds when a job does not say.", examples=["deep"]
    )

    def may_be(self, value: str) -> bool:
        """Whether a job may say so."""
        if self.number_of:
            return amount(value, self.number_of) is not None
        return value in self.values

    def meets(self, value: str | None, allowed: tuple[str, ...]) -> bool:
        """Whether what is said is among what is allowed."""
        return within(value, self.number_of, allowed) if self.number_of else value in allowed

    def may_be_allowed(self, value: str) -> bool:
        """Whether a layout may ask for it."""
        if self.number_of:
            return limits(value, self.number_of) is not None
        return value in self.values

    def sentence(self, value: str, *, asked: bool = False) -> str:
        """What to write in place of a value; `asked` where a layout asks for it."""
        if self.number_of:
            number = f"write a number of {self.number_of}, such as 110"
            return f"{quoted(value)}; {LIMITS if asked else number}"
        return near(value, [*self.values], "its values")


class Unit(Written):
    """One model of transmission."""

    name: Text = Field("unit", description="What you call it.", examples=["Harrow 4"])
    families: dict[Text, Family] = Field(
        description="Its part families.", examples=["{drum steel: {kind: steel, sizes: {...}}}"]
    )
    shared_parts: dict[Text, Shared] = Field(
        {},
        description="Parts that count in several gaps.",
        examples=["{pump washer: {family: thrust washer}}"],
    )
    separate_parts: Names = Field(
        (),
        description="Families of which several gaps hold one part each, and each its own; an "
        "answer asks whether it is one part or several until this or `shared parts` says so.",
        examples=["[drum ring]"],
    )
    packs: dict[Text, Pack] = Field(
        {},
        description="Its clutch packs, in the order they are set.",
        examples=["{low drum: {...}}"],
    )
    end_plays: dict[Text, EndPlay] = Field(
        {},
        description="Its end plays, in the order they are set.",
        examples=["{front play: {...}}"],
    )
    bands: dict[Text, Band] = Field(
        {},
        description="Its bands that are set by a screw, printed on every sheet.",
        examples=["{low band: {tighten: 72 in lb, back off: 2 1/2}}"],
    )
    readings: dict[Text, Reading] = Field(
        {},
        description="Readings that several gaps share.",
        examples=["{gasket: thickness of the new gasket}"],
    )
    gauges: dict[Text, Gauge] = Field(
        {},
        description="What each gauge can tell, and how far it may be off.",
        examples=["{feeler: 0.001 in}"],
    )
    parts_read_with: Text | None = Field(
        None,
        description="The gauge that thicknesses were measured with where nothing is said beside "
        "them. Without it they count as a caliper's.",
        examples=["micrometer"],
    )
    facts: dict[Text, Fact] = Field(
        {},
        description="What layouts depend on.",
        examples=["{drum: {values: [deep, shallow]}}"],
    )
    rules: tuple[Rule, ...] = Field(
        (), description="Rules over parts.", examples=["[{count: drum steel/thin, at most: 2}]"]
    )
    always_replaced: dict[Text, Replaced] = Field(
        {},
        description="What every overhaul replaces: families, or parts of none.",
        examples=["{pump gasket: crushed when the pump is bolted down}"],
    )
    belongs_together: dict[Text, Belonging] = Field(
        {},
        description="What goes together in sets and is never mixed: what a job names or measures "
        "is held against it before any solving.",
        examples=["{piston and spring: {sets: {...}, would: the spring goes solid}}"],
    )
    independent: Flag = Field(
        "no",
        validate_default=True,
        description="yes where the spaces of its packs and end plays have nothing to do with each "
        "other, so that histories of some may be put together with those of others.",
        examples=["yes"],
    )
    aims: Aims = Field(
        AIMS,
        description="The aims in order; leave out what does not matter.",
        examples=["[layout, safe, thin, middle, aim]"],
    )
    certainty: CertaintyText | None = Field(
        None,
        description="How certain a gap is to lie within its window before thin steels are spared: "
        "95 % unless stated. none where the maker's chart goes to the very limit: then the aim "
        "safe does not count.",
        examples=["99 %"],
    )

    def family_of(self, part: str) -> Family:
        """The family of a place's part, which may be a shared part."""
        return self.families[self.family_name(part)]

    def family_name(self, part: str) -> str:
        """The name of that family."""
        shared = self.shared_parts.get(part)
        return shared.family if shared else part

    def shared_weight(self, name: str) -> int:
        """How much changing a shared part counts: as it says, or the most that a place of it says.

        It is changed once, whichever of its gaps it is got at from.
        """
        own = self.shared_parts[name].reach
        stacks = (lay.stack for gap in self.gaps.values() for lay in gap.arrangements.values())
        at_places = (place.reach for stack in stacks for place in stack if place.part == name)
        said = [own] if own else [reach for reach in at_places if reach]
        return max((reach.weight for reach in said), default=1)

    @cached_property
    def gaps(self) -> dict[str, Pack | EndPlay]:
        """Every pack, then every end play, in the order they are set."""
        return {**self.packs, **self.end_plays}


__all__ = [
    "AIMS", "Aims", "EndPlay", "Family", "Gap", "Layout", "Pack", "Place", "Reading", "Unit",
    "Window",
]  # fmt: skip
