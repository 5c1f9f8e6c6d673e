"""The unit file: one model of transmission as its maker's manual describes it.

Families of parts, packs and end plays with their stacks, windows, spaces and rules. What is
written here is all that is known of a unit; nothing is looked up later.
"""

from __future__ import annotations

import re
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from specs.formula import Formula, FormulaError, parse_formula
from specs.lengths import ZERO, Length
from specs.written import (
    Context,
    Flag,
    LengthText,
    Money,
    Names,
    Rational,
    Span,
    SpanText,
    State,
    Text,
    ThicknessText,
    ValidationInfo,
    Whole,
    Written,
    refuse,
)

KINDS = (
    "steel", "friction", "ring", "pressure plate", "apply plate", "cushion", "washer", "shim",
    "spacer",
)  # fmt: skip
AIMS = ("layout", "thin", "heat", "middle", "change", "aim", "spare")
Kind = Literal[
    "steel", "friction", "ring", "pressure plate", "apply plate", "cushion", "washer", "shim",
    "spacer",
]  # fmt: skip
STACKABLE = ("shim", "spacer")
FACED = ("steel", "friction", "pressure plate", "apply plate")


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
    unit = info.context.unit if isinstance(info.context, Context) else None
    if not isinstance(value, str):
        raise refuse(value, "write a sum such as depth - straightedge")
    try:
        return parse_formula(value, unit)
    except FormulaError as error:
        raise refuse(value, str(error)) from None


def _aim(value: Any, info: ValidationInfo) -> str | Length:
    if value in ("middle", "tight", "loose"):
        return str(value)
    try:
        return LENGTH.validate_python(value, context=info.context)
    except ValueError:
        raise refuse(value, "write middle, tight, loose or a length") from None


def _many(value: Any) -> Any:
    """Let sizes be one length, a list of lengths, or named."""
    if isinstance(value, str):
        return {value: value}
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return {item: item for item in value}
    return value


def _stack(value: Any) -> Any:
    """Write repeated places out: `{repeat: 3, of: [friction, drum steel]}` is six places."""
    if not isinstance(value, list):
        return value
    places: list[Any] = []
    for item in value:
        if isinstance(item, dict) and set(item) == {"repeat", "of"}:
            count, block = item["repeat"], item["of"]
            if not isinstance(count, str) or not re.fullmatch(r"[1-9][0-9]?", count):
                raise refuse(count, "write how often the places repeat: a number from 1 to 99")
            places += (block if isinstance(block, list) else [block]) * int(count)
        else:
            places.append(item)
    return places


def _aims(value: Any) -> tuple[str, ...]:
    names = [value] if isinstance(value, str) else value
    if not isinstance(names, list) or not names:
        raise refuse(value, f"write a list of aims: {', '.join(AIMS)}")
    for position, name in enumerate(names):
        if name not in AIMS:
            raise refuse(name, f"the aims are {', '.join(AIMS)}")
        if name in names[:position]:
            raise refuse(name, "name each aim once")
    return tuple(names)


Counts = Annotated[tuple[int, int], PlainValidator(_counts), WithJsonSchema({"type": "string"})]
FormulaText = Annotated[Formula, PlainValidator(_formula), WithJsonSchema({"type": "string"})]
Aim = Annotated[str | Length, PlainValidator(_aim), WithJsonSchema({"type": ["string", "number"]})]
Aims = Annotated[
    tuple[str, ...],
    PlainValidator(_aims),
    WithJsonSchema({"type": "array", "items": {"enum": list(AIMS)}}),
]


class Size(Written):
    """One thickness a family is made in."""

    short: ClassVar[str] = "thickness"

    thickness: ThicknessText = Field(
        description="Nominal thickness, or the lowest and highest the maker prints for it.",
        examples=["0.0880 in", "3.05 to 3.15 mm"],
    )
    mark: Text | None = Field(None, description="What is stamped on the part.", examples=["2"])
    grade: Text | None = Field(
        None,
        description="For steels: sizes of one grade count as equally thick. Without it each "
        "nominal is a grade of its own, nominals closer than the family's tolerance being one.",
        examples=["thin"],
    )
    price: Money | None = Field(
        None, description="Price of one, in your currency.", examples=["2.40"]
    )

    @property
    def nominal(self) -> Length:
        """The thickness the part is sold as; of a printed range its middle."""
        return self.thickness.middle


class Family(Written):
    """Parts that fit the same place and differ by thickness."""

    kind: Kind = Field(
        description="What the part is: " + ", ".join(KINDS) + ".", examples=["steel"]
    )
    also_called: Text | None = Field(
        None, description="The maker's own word, printed beside ours.", examples=["flange"]
    )
    sizes: Annotated[
        dict[Text, Size],
        BeforeValidator(_many),
        WithJsonSchema({"type": ["string", "number", "array", "object"]}),
    ] = Field(
        {},
        description="The sizes it is made in: a list of thicknesses, or names with a thickness "
        "or a size each. Drawn from the shelf.",
        examples=["{thick: 0.0880 in, thin: 0.0690 in}"],
    )
    fixed: LengthText | None = Field(
        None,
        description="In place of sizes: the one thickness of a part that is not chosen and not "
        "drawn from the shelf.",
        examples=["0.0800 in"],
    )
    tolerance: LengthText = Field(
        ZERO,
        description="How far a part may be off its nominal, either way.",
        examples=["0.0010 in"],
    )
    wear_limit: LengthText | None = Field(
        None, description="No part thinner than this is used.", examples=["0.0640 in"]
    )
    lined: Literal["both sides", "one side", "no"] | None = Field(
        None,
        description="Which faces carry lining. Frictions are lined on both sides and other plates "
        "are smooth unless this says otherwise.",
        examples=["one side"],
    )
    form: Text | None = Field(
        None, description="For rings: the form a groove must be made for.", examples=["flat"]
    )


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
    reach: Reach | None = Field(None, description="What it takes to get at it.", examples=["5"])


class Window(Written):
    """The lowest and highest gap allowed, and the aim within."""

    short: ClassVar[str] = "gap"

    gap: SpanText = Field(
        description="Lowest and highest, or `at least`, or `at most`. Negative for a preload.",
        examples=["0.020 to 0.035 in", "1.7 ± 0.1 mm", "-0.10 to -0.05 mm"],
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
        "the middle: drops the aim `middle` for this gap.",
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


class Layout(Written):
    """One allowed arrangement of a stack."""

    stack: Annotated[tuple[Place, ...], BeforeValidator(_stack)] = Field(
        description="The places from the first end to the second. `{repeat: 3, of: [..]}` repeats.",
        examples=["[apply plate, {repeat: 3, of: [friction, drum steel]}, drum ring]"],
    )
    rank: Whole | None = Field(
        None, description="0 for the best. Needed where there are several layouts.", examples=["0"]
    )
    only_if: dict[Text, Names] = Field(
        {}, description="Facts that must hold for it.", examples=["{line pressure: standard}"]
    )
    because: Text | None = Field(
        None,
        description="The reason of that condition, repeated in the answer.",
        examples=["a cut plate flexes"],
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

    window: Window | None = Field(
        None, description="The gap allowed.", examples=["0.020 to 0.035 in"]
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
    stack: Annotated[tuple[Place, ...], BeforeValidator(_stack)] = Field(
        (),
        description="The places from the first end to the second, where there is one layout.",
        examples=["[apply plate, {repeat: 3, of: [friction, drum steel]}, drum ring]"],
    )
    layouts: dict[Text, Layout] = Field(
        {},
        description="In place of `stack`: the arrangements allowed.",
        examples=["{full plate: {rank: 0, stack: [...]}}"],
    )
    measure: Measure | None = Field(
        None, description="How the finished gap is measured.", examples=["{between: [plate, ring]}"]
    )
    allowances: tuple[Allowance, ...] = Field(
        (),
        description="Corrections for readings taken in another state.",
        examples=["[{state: {frictions: dry}, add: -0.004 in}]"],
    )
    reach: Reach = Field(
        Reach.model_construct(weight=1, out_first=()),
        description="What it takes to get at its parts, unless a place says.",
        examples=["{weight: 5, out first: [front drum]}"],
    )
    note: Text | None = Field(
        None, description="Printed with the gap.", examples=["soak frictions as the maker says"]
    )

    @cached_property
    def arrangements(self) -> dict[str, Layout]:
        """All layouts by name; the only one of a plain stack is called `stack`."""
        if self.layouts:
            return dict(self.layouts)
        return {"stack": Layout.model_construct(
            stack=self.stack, rank=0, only_if={}, because=None, window=None, space=None,
            smooth_faces_may_meet=False,
        )}  # fmt: skip


def _two(value: Any) -> tuple[str, str]:
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


class Pack(Gap):
    """A clutch pack: an ordered stack from the apply piston to its stop."""

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

    values: Names = Field(description="What it may be.", examples=["[standard, raised]"])
    default: Text | None = Field(
        None, description="What holds when a job does not say.", examples=["standard"]
    )


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
    readings: dict[Text, Reading] = Field(
        {},
        description="Readings that several gaps share.",
        examples=["{gasket: new gasket, as it comes}"],
    )
    gauges: dict[Text, LengthText] = Field(
        {}, description="What each gauge can tell.", examples=["{feeler: 0.001 in}"]
    )
    facts: dict[Text, Fact] = Field(
        {},
        description="What layouts depend on.",
        examples=["{line pressure: {values: [standard, raised]}}"],
    )
    rules: tuple[Rule, ...] = Field(
        (), description="Rules over parts.", examples=["[{count: drum steel/thin, at most: 2}]"]
    )
    aims: Aims = Field(
        AIMS,
        description="The aims in order; leave out what does not matter.",
        examples=["[layout, thin, middle, aim]"],
    )

    def family_of(self, part: str) -> Family:
        """The family of a place's part, which may be a shared part."""
        shared = self.shared_parts.get(part)
        return self.families[shared.family if shared else part]

    @cached_property
    def gaps(self) -> dict[str, Pack | EndPlay]:
        """Every pack, then every end play, in the order they are set."""
        return {**self.packs, **self.end_plays}


def length_adapter() -> Any:
    """Build the validator of a single length (kept apart: it costs a few milliseconds)."""
    from pydantic import TypeAdapter

    return TypeAdapter(LengthText)


LENGTH = length_adapter()
__all__ = ["AIMS", "Family", "Gap", "Layout", "Pack", "Place", "Span", "Unit"]
