"""Packs and end plays: how a gap is read, what there is to fill, and what it may be."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, PlainValidator, WithJsonSchema, model_validator

from specs.models.heating import Heating
from specs.models.stacks import FormulaText, Layout, Place, Reach, Stack, Window
from specs.values.fields import (
    Flag,
    LengthText,
    Names,
    State,
    Text,
    ThicknessText,
    Whole,
    Written,
    refuse,
)
from specs.values.formula import Formula
from specs.values.lengths import ZERO, Length


def _two(value: Any) -> tuple[str, str]:
    """Take the names of a stack's two ends."""
    if not isinstance(value, list) or len(value) != 2 or not all(isinstance(v, str) for v in value):  # noqa: PLR2004
        raise refuse(value, "name the two ends: [apply piston, snap ring]")
    if value[0] == value[1]:
        raise refuse(value[0], "give the two ends different names")
    return value[0], value[1]


Ends = Annotated[
    tuple[str, str],
    PlainValidator(_two),
    WithJsonSchema({"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}),
]


class Reading(Written):
    """One number taken at the bench, as the manual asks for it."""

    short: ClassVar[str] = "what"

    what: Text = Field(
        description="What to measure, in a sentence.", examples=["case face to snap ring groove"]
    )
    gauge: Text | None = Field(None, description="With which gauge.", examples=["depth gauge"])
    places: Whole = Field(
        "1", validate_default=True, description="At how many places, averaged.", examples=["3"]
    )
    state: State = Field(
        {},
        description="The state it is taken in, where that is not the window's.",
        examples=["{piston: bottomed}"],
    )
    signed: Flag = Field(
        "no",
        validate_default=True,
        description="yes where it may be negative: a stamped offset.",
        examples=["yes"],
    )
    spreads_by: LengthText | None = Field(
        None,
        description="The standard deviation between its places, where that is not the gap's; "
        "written here, it counts for a reading of one spot too.",
        examples=["0.0005 in"],
    )
    even_within: LengthText | None = Field(
        None,
        description="How far its places may lie apart, where that is not the gap's.",
        examples=["0.003 in"],
    )


class Measure(Written):
    """How the finished gap is measured."""

    between: Names = Field(
        (),
        description="The two parts it is read between.",
        examples=["[pressure plate, drum ring]"],
    )
    held: Text | None = Field(
        None,
        description="What holds the pack to the other side.",
        examples=["palm on the pressure plate"],
    )
    how: Text | None = Field(
        None, description="Anything else to mind.", examples=["feeler gauge, three places"]
    )


class Allowance(Written):
    """What a reading taken in another state differs by."""

    state: State = Field(
        description="The state the reading was taken in.", examples=["{frictions: dry}"]
    )
    add: LengthText = Field(description="What to add to the space for it.", examples=["-0.004 in"])
    because: Text | None = Field(None, description="Why.", examples=["linings swell when soaked"])


class Spaces(Written):
    """What spaces drums have, where there is no history of them: in one of three ways."""

    normal: LengthText | None = Field(
        None, description="The mean of a normal spread.", examples=["0.500 in"]
    )
    deviation: LengthText | None = Field(
        None, description="Its standard deviation.", examples=["0.004 in"]
    )
    uniform: ThicknessText | None = Field(
        None, description="From where to where all are alike likely.", examples=["0.49 to 0.51 in"]
    )
    sum_: tuple[ThicknessText, ...] = Field(
        (),
        description="A tolerance stack: dimensions with their tolerances, each alike likely "
        "within its own and none hanging on another.",
        examples=["[2.995 to 3.005 in, 0.498 to 0.502 in]"],
    )
    less: tuple[ThicknessText, ...] = Field(
        (), description="What is taken off their sum.", examples=["[2.498 to 2.502 in]"]
    )

    @model_validator(mode="after")
    def _one_way(self) -> Spaces:
        ways = [self.normal is not None, self.uniform is not None, bool(self.sum_)]
        if sum(ways) != 1:
            raise refuse("spaces", "write one of normal, uniform and sum")
        if (self.normal is None) != (self.deviation is None):
            raise refuse("spaces", "write normal and deviation together")
        if self.deviation is not None and self.deviation < ZERO:
            raise refuse("deviation", "write a deviation of nothing or more")
        if self.less and not self.sum_:
            raise refuse("less", "write less with a sum alone")
        return self

    def within(self, deviations: int) -> tuple[Length, Length]:
        """The least and the greatest space; of a normal spread those so many deviations off."""
        if self.normal is not None and self.deviation is not None:
            far = self.deviation * deviations
            return self.normal - far, self.normal + far
        more = self.sum_ or ((self.uniform,) if self.uniform else ())
        low = sum((span.low or ZERO for span in more), ZERO)
        high = sum((span.high or ZERO for span in more), ZERO)
        less = [(span.low or ZERO, span.high or ZERO) for span in self.less]
        least, most = sum((one for one, _ in less), ZERO), sum((one for _, one in less), ZERO)
        return low - most, high - least


@dataclass(frozen=True)
class Arrangement:
    """One layout of a gap, with what the gap says wherever the layout says nothing of its own."""

    name: str
    """`stack` where the gap has a plain stack and no layouts."""
    stack: tuple[Place, ...]
    space: Formula
    window_if_any: Window | None
    """None only in a unit file that is refused for it."""
    rank: int = 0
    only_if: dict[str, tuple[str, ...]] = field(default_factory=dict)
    because: str | None = None
    smooth_faces_may_meet: bool = False
    of_pack: bool = False

    @property
    def window(self) -> Window:
        """The window that applies. Raises ValueError where there is none."""
        if self.window_if_any is None:
            raise ValueError("a layout without a window")
        return self.window_if_any

    @property
    def lowest(self) -> Length | None:
        """The lowest gap allowed; None where that side is open.

        A pack whose window leaves it open is closed at zero: below that it drags. A window with a
        negative end is a preload, and one on a height is on no gap.
        """
        low, high = self.window.gap.low, self.window.gap.high
        open_ = low is None and self.of_pack and self.window.on == "gap"
        return ZERO if open_ and (high is None or high >= ZERO) else low

    def holds(self, gap: Length) -> bool:
        """Say whether a gap is allowed."""
        low = self.lowest
        return self.window.gap.holds(gap) and (low is None or low <= gap)

    @property
    def sign(self) -> int:
        """What a part's thickness counts: 1 where it closes the gap, -1 where it adds to a height.

        The gap, or the height, is the space less `sign` times the stack.
        """
        return -1 if self.window.on == "height" else 1

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """A name for each place: its own, or its part's, numbered where that occurs again."""
        unnamed = [place.part for place in self.stack if not place.name]
        seen: dict[str, int] = {}
        labels = []
        for place in self.stack:
            seen[place.part] = seen.get(place.part, 0) + (place.name is None)
            numbered = (
                f"{place.part} {seen[place.part]}" if unnamed.count(place.part) > 1 else place.part
            )
            labels.append(place.name or numbered)
        return tuple(labels)


class Gap(Written):
    """What a pack and an end play have in common: a stack, a space and a window."""

    of_pack: ClassVar[bool] = False

    window: Window | None = Field(
        None, description="The gap allowed.", examples=["0.050 to 0.070 in"]
    )
    space: FormulaText = Field(
        "trial stack + gap",
        validate_default=True,
        description="What there is to fill: a signed sum of readings, fixed lengths and the trial "
        "stack. Factors such as l/2 or 3/2 * stroke are allowed.",
        examples=["depth - straightedge", "26.9 mm + l/2 - m", "trial stack + gap"],
    )
    readings: dict[Text, Reading] = Field(
        {},
        description="The readings of this gap. `gap` need not be listed.",
        examples=["{depth: case face to piston}"],
    )
    trial: Literal["none", "thinnest", "thickest", "old"] | None = Field(
        None,
        description="What the trial build is made with, unless the job says.",
        examples=["thinnest"],
    )
    stack: Stack = Field(
        (),
        description="The places from the first end to the second, where there is one layout.",
        examples=["[apply plate, {repeat: 3, of: [friction, drum steel]}, drum ring]"],
    )
    layouts: dict[Text, Layout] = Field(
        {},
        description="In place of `stack`: the arrangements allowed.",
        examples=["{full plate: {rank: 0, stack: [...]}}"],
    )
    spaces: Spaces | None = Field(
        None,
        description="What rooms for its stack drums to come have, as they are read: where there is "
        "no history of them, and to doubt a reading far from all of these.",
        examples=["{normal: 0.500 in, deviation: 0.004 in}"],
    )
    measure: Measure | None = Field(
        None, description="How the finished gap is measured.", examples=["{between: [plate, ring]}"]
    )
    allowances: tuple[Allowance, ...] = Field(
        (),
        description="Corrections for readings taken in another state.",
        examples=["[{state: {frictions: dry}, add: -0.004 in}]"],
    )
    spreads_by: LengthText | None = Field(
        None,
        description="By how much places around the gap differ, as a standard deviation: 0.001 in "
        "unless stated, and more where the places read differ more. It counts for the clearance "
        "of a pack, and for readings asked for or taken at several places.",
        examples=["0.0005 in"],
    )
    even_within: LengthText | None = Field(
        None,
        description="How far places may lie apart before the parts stand crooked: 0.005 in unless "
        "stated.",
        examples=["0.003 in"],
    )
    reach: Reach = Field(
        default_factory=lambda: Reach.model_construct(weight=1, out_first=()),
        description="What it takes to get at its parts, unless a place says.",
        examples=["{weight: 5, out first: [front drum]}"],
    )
    note: Text | None = Field(
        None, description="Printed with the gap.", examples=["soak frictions as the maker says"]
    )

    @cached_property
    def arrangements(self) -> dict[str, Arrangement]:
        """All layouts by name; the only one of a plain stack is called `stack`."""
        if not self.layouts:
            stack = Arrangement("stack", self.stack, self.space, self.window, of_pack=self.of_pack)
            return {"stack": stack}
        return {
            name: Arrangement(
                name, layout.stack, layout.space or self.space, layout.window or self.window,
                layout.rank or 0, layout.only_if, layout.because, layout.smooth_faces_may_meet,
                self.of_pack,
            )
            for name, layout in self.layouts.items()
        }  # fmt: skip

    @property
    def usual_layout(self) -> str:
        """The layout of the best rank: `spaces` and tables of past drums mean the room in it."""
        return min(self.arrangements.values(), key=lambda one: (one.rank, one.name)).name

    def alike(self, layout: str) -> tuple[str, ...]:
        """Return the layouts whose space is worked out as that of one, so that it is one room."""
        terms = self.arrangements[layout].space.terms
        return tuple(
            name for name, other in self.arrangements.items() if other.space.terms == terms
        )

    def layout_meant(self, layout: str) -> str:
        """The name of the layout told of; of the first where none is told, as of a plain stack."""
        return layout or next(iter(self.arrangements))


class Pack(Gap):
    """A clutch pack: an ordered stack from the apply piston to its stop."""

    of_pack: ClassVar[bool] = True

    works: Literal["shifts", "holds"] = Field(
        "shifts",
        description="shifts, or only holds. Thin steels are spared first where it shifts.",
        examples=["holds"],
    )
    ends: Ends = Field(
        ("piston", "ring"),
        description="The piston's end and the other, in the stack's order.",
        examples=["[apply piston, snap ring]"],
    )
    first_in: Text | None = Field(
        None,
        description="The end that is loaded first; the first unless stated.",
        examples=["snap ring"],
    )
    heat_end: Text | None = Field(
        None,
        description="The end that runs hottest; the one away from the piston unless stated.",
        examples=["snap ring"],
    )
    heat: Heating | None = Field(
        None,
        description="What one engagement brings to it, to compare how much its steels warm.",
        examples=["{energy: 12 kJ, outer: 140 mm, inner: 112 mm}"],
    )


class EndPlay(Gap):
    """Axial freedom of a shaft or geartrain; a preload is a negative end play."""

    ends: Ends = Field(
        ("front", "rear"),
        description="The two ends, in the stack's order.",
        examples=["[pump, drum]"],
    )
    first_in: Text | None = Field(
        None,
        description="The end that is loaded first; the first unless stated.",
        examples=["rear"],
    )
