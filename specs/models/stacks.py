"""Stacks: the places between the two faces of a gap, the window, and the layouts allowed."""

from __future__ import annotations

import re
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from specs.values.fields import (
    Flag,
    LengthText,
    Names,
    Rational,
    SpanText,
    State,
    Text,
    Whole,
    Written,
    read_length,
    refuse,
    unit_of,
)
from specs.values.formula import Formula, FormulaError, parse_formula
from specs.values.lengths import Length
from specs.values.repeated_places import write_out


def _counts(value: Any) -> tuple[int, int]:
    found = re.fullmatch(r"([0-9]{1,2})(?: *(?:to|-|–) *([0-9]{1,2}))?", str(value))
    if not isinstance(value, str) or not found:
        raise refuse(value, "write how many may lie here, such as 0 to 3")
    least = int(found[1])
    most = int(found[2] or found[1])
    if least > most or not most:
        raise refuse(value, "the first number is the least, the second the most: 0 to 3")
    return least, most


def _formula(value: Any, info: ValidationInfo) -> Formula:
    if not isinstance(value, str):
        raise refuse(value, "write a sum such as depth - straightedge")
    try:
        return parse_formula(value, unit_of(info))
    except FormulaError as error:
        raise refuse(value, str(error)) from None


def _aim(value: Any, info: ValidationInfo) -> str | Length:
    if value in ("middle", "tight", "loose"):
        return str(value)
    try:
        return read_length(value, info)
    except PydanticCustomError:
        raise refuse(value, "write middle, tight, loose or a length") from None


Counts = Annotated[tuple[int, int], PlainValidator(_counts), WithJsonSchema({"type": "string"})]
FormulaText = Annotated[Formula, PlainValidator(_formula), WithJsonSchema({"type": "string"})]
Aim = Annotated[str | Length, PlainValidator(_aim), WithJsonSchema({"type": ["string", "number"]})]


class Groove(Written):
    """The groove a ring sits in."""

    short: ClassVar[str] = "takes"

    takes: SpanText = Field(
        description="Least and greatest ring thickness.", examples=["0.058 to 0.080 in"]
    )
    form: Text | None = Field(
        None, description="The form of ring it is cut for.", examples=["flat"]
    )


class Reach(Written):
    """What it takes to get at a part once the unit is together."""

    short: ClassVar[str] = "weight"

    weight: Whole = Field(1, description="How much changing the part counts.", examples=["5"])
    out_first: Names = Field(
        (), description="What must come out before it.", examples=["[front drum, selector ring]"]
    )


class Place(Written):
    """One place of a stack: exactly one part of one family, unless `how many` says otherwise."""

    short: ClassVar[str] = "part"

    part: Text = Field(
        description="A family, or a part shared by several gaps.", examples=["drum steel"]
    )
    name: Text | None = Field(
        None,
        description="A name for this place. Otherwise it is the part's, numbered from the first "
        "end where it occurs more than once.",
        examples=["outer steel"],
    )
    only: Names = Field((), description="The sizes or grades allowed here.", examples=["[thick]"])
    factor: Rational = Field(
        "1",
        validate_default=True,
        description="What a unit of its thickness takes from the gap: 1 closes it, -1 opens it, "
        "0 is outside the load path, a fraction serves a bevelled ring or a lever.",
        examples=["-1"],
    )
    how_many: Counts = Field(
        (1, 1), description="For shims and spacers: how many may lie here.", examples=["0 to 3"]
    )
    groove: Groove | None = Field(
        None, description="For rings: the groove.", examples=["0.058 to 0.080 in"]
    )
    lining_faces: Text | None = Field(
        None,
        description="For parts lined on one side: the end of the stack the lining looks at.",
        examples=["apply piston"],
    )
    facing: Text | None = Field(
        None,
        description="Which way the part faces or is turned, printed on its own line.",
        examples=["beveled side to the groove, gap at the lug"],
    )
    reach: Reach | None = Field(None, description="What it takes to get at it.", examples=["5"])


class Shared(Written):
    """One part that counts in several gaps; stacks name it as they name a family."""

    short: ClassVar[str] = "family"

    family: Text = Field(description="The family it is chosen from.", examples=["thrust washer"])
    only: Names = Field((), description="The sizes allowed.", examples=["[A, B]"])
    facing: Text | None = Field(
        None, description="Which way it faces.", examples=["tabs to the pump"]
    )
    reach: Reach | None = Field(
        None,
        description="What it takes to get at it; otherwise the most that a place of it says.",
        examples=["5"],
    )


class _Repeats:
    """Lets editors know that places may be repeated."""

    @classmethod
    def __get_pydantic_json_schema__(cls, core: Any, handler: Any) -> dict[str, Any]:
        schema: dict[str, Any] = handler(core)
        place = schema["items"]
        repeat = {
            "type": "object",
            "properties": {
                "repeat": {"type": "integer", "minimum": 1, "maximum": 99},
                "of": {"anyOf": [place, {"type": "array", "items": place}]},
            },
            "required": ["repeat", "of"],
            "additionalProperties": False,
        }
        return {**schema, "items": {"anyOf": [place, repeat]}}


Stack = Annotated[tuple[Place, ...], BeforeValidator(write_out), _Repeats]


class Window(Written):
    """The lowest and highest gap allowed, and the aim within."""

    short: ClassVar[str] = "gap"

    gap: SpanText = Field(
        description="Lowest and highest, or `at least`, or `at most`. Negative for a preload.",
        examples=["0.050 to 0.070 in", "1.7 ± 0.1 mm", "-0.10 to -0.05 mm"],
    )
    aim: Aim = Field(
        "middle",
        description="middle, tight (the lowest), loose (the highest) or a value.",
        examples=["middle", "0.025 in"],
    )
    nearest: Flag = Field(
        "no",
        validate_default=True,
        description="yes where the maker asks for the nearest to the aim, not for anywhere near "
        "the middle: the aim `middle` then counts its whole distance from the aim.",
        examples=["yes"],
    )
    scale: LengthText | None = Field(
        None,
        description="The width deviations are compared with, where the window has none.",
        examples=["0.010 in"],
    )
    on: Literal["gap", "height"] = Field(
        "gap",
        description="height where the window is on the height of the stack.",
        examples=["height"],
    )
    state: State = Field(
        {},
        description="The state the window holds for, as words of your own.",
        examples=["{frictions: soaked, load: 50 N}"],
    )

    @property
    def target(self) -> Length:
        """The gap aimed at. Raises ValueError where an open side leaves none."""
        if isinstance(self.aim, Length):
            return self.aim
        end = self.gap.low if self.aim == "tight" else self.gap.high
        if self.aim == "middle" or end is None:
            return self.gap.middle
        return end

    @property
    def width(self) -> Length:
        """What deviations are compared with: the window's width, or the scale stated for it."""
        low, high = self.gap.low, self.gap.high
        if self.scale is not None and (low is None or high is None or low == high):
            return self.scale
        if low is None or high is None:
            raise ValueError("a one-sided window states a scale")
        return high - low


class Layout(Written):
    """One allowed arrangement of a stack."""

    stack: Stack = Field(
        description="The places from the first end to the second. `{repeat: 3, of: [..]}` repeats.",
        examples=["[apply plate, {repeat: 3, of: [friction, drum steel]}, drum ring]"],
    )
    rank: Whole | None = Field(
        None, description="0 for the best. Needed where there are several layouts.", examples=["0"]
    )
    only_if: dict[Text, Names] = Field(
        {}, description="Facts that must hold for it.", examples=["{drum: deep}"]
    )
    because: Text | None = Field(
        None,
        description="The reason of that condition, or of the layout, repeated in the answer.",
        examples=["its splines end below a fourth friction"],
    )
    window: Window | None = Field(
        None, description="Its own window, where that differs.", examples=["0.030 to 0.045 in"]
    )
    space: FormulaText | None = Field(
        None, description="Its own space, where that differs.", examples=["30.5 mm - m"]
    )
    smooth_faces_may_meet: Flag = Field(
        "no",
        validate_default=True,
        description="yes where two smooth plates lie together.",
        examples=["yes"],
    )
