"""The job file: one rebuild, as read at the bench."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import (
    BeforeValidator,
    Field,
    PlainValidator,
    PrivateAttr,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from specs.models.aims import CertaintyText
from specs.models.gauges import Gauge
from specs.models.record import Closed, Promised, listed
from specs.models.unit import Aims
from specs.values.fields import (
    Context,
    Day,
    LengthText,
    State,
    Text,
    Whole,
    Written,
    read_length,
    refuse,
)
from specs.values.lengths import ZERO, Length

BARE = {"type": ["string", "number", "array", "object"]}


MOST_PLACES = 24
ONE_SIDED = "write `goes` and `stops` both: with one alone the gap is only known to be"
LESS = f"{ONE_SIDED} less than what stops"
PROUD_IS = "write by how much it stands proud, more than nothing; flush reads 0"
TO_CHOOSE = "to choose"
"""Stands in the list of parts going in for one that is still to be chosen."""
LEFT_OUT = "left out"
"""Stands in a trial build's list for a part at a place that is left empty."""


def _list(value: Any) -> Any:
    values = [value] if isinstance(value, str) else value
    if isinstance(values, list) and not 0 < len(values) <= MOST_PLACES:
        raise refuse(value, f"write one number, or one for each of up to {MOST_PLACES} places")
    return values


def _parts(value: Any) -> tuple[tuple[str, ...], ...] | str:
    if isinstance(value, str):
        return value.strip()
    return listed(value)


PartList = Annotated[
    tuple[tuple[str, ...], ...] | str,
    PlainValidator(_parts),
    WithJsonSchema({"type": ["array", "string"]}),
]


TrialParts = Literal["of this unit", "from the shelf"]


class TakenReading(Written):
    """A reading as taken: one number, or one for each place."""

    short: ClassVar[str] = "at"
    short_types: ClassVar[tuple[str, ...]] = ("string", "number", "array")

    at: Annotated[tuple[LengthText, ...], BeforeValidator(_list), WithJsonSchema(BARE)] = Field(
        description="What the gauge said, at each place.",
        examples=["[0.041, 0.043, 0.042]"],
    )
    state: State = Field(
        {},
        description="Its state, where that is not the unit file's.",
        examples=["{frictions: dry}"],
    )
    gauge: Text | None = Field(
        None, description="Another gauge than asked for.", examples=["caliper"]
    )
    u: LengthText | None = Field(
        None,
        description="Its standard uncertainty, where you know it. It then stands for all that "
        "makes it doubtful: the gauge, its limits, the spread over its places.",
        examples=["0.0004 in"],
    )
    goes: LengthText | None = Field(
        None,
        description="In place of `at`, with `stops`: the thickest pin or feeler that goes.",
        examples=["0.040 in"],
    )
    stops: LengthText | None = Field(
        None,
        description="The thinnest that does not go; alone, where none goes: then it is no reading.",
        examples=["0.042 in"],
    )
    proud: LengthText | None = Field(
        None,
        description="In place of `at`: how far the ring stands proud of its groove in the trial "
        "build. The gap is so much below nothing, with three times the gauge's doubt.",
        examples=["0.012 in"],
    )
    _supposed: bool = PrivateAttr(default=False)

    @classmethod
    def supposed(cls, at: Length) -> TakenReading:
        """Return a reading that nobody took: a value to work with, and never no reading."""
        reading = cls.model_construct(at=(at,))
        reading._supposed = True  # noqa: SLF001 - its own
        return reading

    @property
    def nothing_at(self) -> tuple[int, ...]:
        """The numbers of the places, from 1, where the gauge found nothing; none if supposed."""
        if self._supposed:
            return ()
        if self.none_goes:
            return (1,)
        return tuple(nth for nth, value in enumerate(self.at, 1) if not value)

    @property
    def none_goes(self) -> bool:
        """Whether not even the thinnest blade goes, so that there is no figure at all."""
        return self.stops is not None and not self.goes

    @property
    def average(self) -> Length:
        """The mean over its places, exact."""
        return sum(self.at, ZERO) / len(self.at)

    def moved_to(self, average: Length) -> TakenReading:
        """Return the same reading with another mean: its lengths grow by as much, all else stays.

        Parameters
        ----------
        average
            The mean over its places.
        """
        more = average - self.average
        ends = {"goes": self.goes, "stops": self.stops}
        moved = {key: end + more for key, end in ends.items() if end is not None}
        if self.proud is not None:
            moved["proud"] = self.proud - more
        new = self.model_copy(update={**moved, "at": tuple(one + more for one in self.at)})
        new._supposed = True  # noqa: SLF001 - a copy of its own
        return new

    @model_validator(mode="before")
    @classmethod
    def _between(cls, data: Any, info: ValidationInfo) -> Any:
        """Take a reading told by blades, whose middle stands for it, or by a ring that is proud."""
        told = {"goes", "stops", "proud"} & data.keys() if isinstance(data, dict) else ()
        if not told:
            return data
        if isinstance(info.context, Context):
            info.context.keys[id(data)] = cls.keys()
        if "at" in data or ("proud" in told and len(told) > 1):
            found = data["at"] if "at" in data else data["proud"]
            raise refuse(found, "write one of `at`, `goes` with `stops`, and `proud`")
        if not data.keys() <= {*cls.keys()}:  # the unknown key is named, not what it may stand for
            return {
                **data,
                "at": [next(data[key] for key in ("goes", "stops", "proud") if key in data)],
            }
        if "proud" in told:
            proud = read_length(data["proud"], info)
            if proud <= ZERO:
                raise refuse(data["proud"], PROUD_IS)
            return {**data, "at": [-proud]}
        if "stops" not in told:
            raise refuse(data["goes"], f"{ONE_SIDED} no less than what goes")
        if "goes" not in told:
            return {**data, "at": [ZERO]}
        goes, stops = (read_length(data[key], info) for key in ("goes", "stops"))
        if goes >= stops:
            raise refuse(data["stops"], "what stops is thicker than what goes")
        return {**data, "at": [(goes + stops) / 2]}


class Parts(Written):
    """The selective parts of a build, in the order of the stack.

    Each is a size, a mark or a thickness, or a size with its thickness as measured
    (`thick 0.0877`); a list where several shims lie at one place.
    """

    short: ClassVar[str] = "parts"
    short_types: ClassVar[tuple[str, ...]] = ("string", "array")

    parts: PartList = Field(
        description="The parts from the first end to the second, fixed ones not listed; or, for a "
        "trial build, none, thinnest, thickest or old. A trial build may say `left out` in place "
        "of a part: nothing lies there then.",
        examples=["[thick, thick, thin, 0.0780]"],
    )
    layout: Text | None = Field(
        None, description="Which layout, where the unit has several.", examples=["full plate"]
    )
    linings: LengthText | None = Field(
        None,
        description="Of a trial build: what the linings in it measured, where other ones than "
        "these will go in; for linings whose part is not chosen.",
        examples=["0.0720 in"],
    )

    @property
    def leaves_out(self) -> bool:
        """Whether a place is left empty that takes a part."""
        return not isinstance(self.parts, str) and (LEFT_OUT,) in self.parts


class AsBuilt(TakenReading):
    """What a gap measured after assembly, and the parts that went in."""

    parts: PartList | None = Field(
        None,
        description="The parts that went in, listed as under `now`; without them, those that `fit` "
        "chooses from these files.",
        examples=["[thin, thick, thick, 0.0700]"],
    )
    layout: Text | None = Field(
        None, description="Which layout, where the unit has several.", examples=["full plate"]
    )
    hand: Text | None = Field(
        None, description="Who measured it, where that is not the job's `hand`.", examples=["JM"]
    )


class GapJob(Written):
    """What is known of one pack or end play."""

    gap: TakenReading | None = Field(
        None, description="The reading named `gap`.", examples=["0.041 in"]
    )
    readings: dict[Text, TakenReading] = Field(
        {}, description="Its other readings.", examples=["{depth: [1.204, 1.205, 1.203]}"]
    )
    trial: Parts | None = Field(
        None,
        description="What the trial build was made of.",
        examples=["[thick, thick, thin, 0.0780]"],
    )
    trial_parts: TrialParts | None = Field(
        None,
        description="Whose parts its trial build is made of, where that is not the job's word.",
        examples=["of this unit"],
    )
    now: Parts | None = Field(
        None,
        description="The build now in the unit; `trial` where it is the trial build.",
        examples=["trial"],
    )
    as_built: AsBuilt | None = Field(
        None,
        description="What it measured after assembly, for `gapwright check`.",
        examples=["{at: [0.067, 0.068], parts: [thin, thick, thick, 0.0700]}"],
    )
    going_in: PartList | None = Field(
        None,
        description="Parts measured before they go in, listed as under `now`, each a size with its "
        "thickness; `to choose` where that is open. They stay where they are, and the gap "
        "is worked out anew over them.",
        examples=["[thin 0.0686, thick 0.0879, thick 0.0881, to choose]"],
    )
    layout: Text | None = Field(None, description="Only this layout.", examples=["full plate"])
    keep: dict[Text, Text] = Field(
        {},
        description="Places whose part is settled, with the size; `now` for the part that is in.",
        examples=["{drum ring: 0.0700}"],
    )

    @property
    def in_unit(self) -> Parts | None:
        """The build that is in the unit: the trial build where `now` says so."""
        return self.trial if self.now and self.now.parts == "trial" else self.now


class Job(Written):
    """One rebuild."""

    name: Text = Field("job", description="Your number or name for it.", examples=["J-1042"])
    facts: dict[Text, Text] = Field(
        {}, description="What holds for this unit.", examples=["{drum: shallow}"]
    )
    found: dict[Text, Text] = Field(
        {},
        description="What was found of things that belong together: words, or a length.",
        examples=["{piston height: 1.316 in, piston spring: nine turns}"],
    )
    readings: dict[Text, TakenReading] = Field(
        {}, description="Readings that several gaps share.", examples=["{gasket: 0.018 in}"]
    )
    trial_parts: TrialParts | None = Field(
        None,
        description="Whose parts trial builds are made of: `of this unit`, beside those on the "
        "shelf, or `from the shelf`, where they are counted. Without a word those under `now` are "
        "of the unit and the others from the shelf, as far as it has them.",
        examples=["from the shelf"],
    )
    gaps: dict[Text, GapJob] = Field(
        {},
        description="What is known of each pack and end play.",
        examples=["{low drum: {gap: 0.041 in}}"],
    )
    parts: dict[Text, LengthText] = Field(
        {},
        description="Fixed families whose parts measured something else this time.",
        examples=["{friction: 0.0795 in}"],
    )
    aims: Aims | None = Field(
        None, description="The aims in order, for this job alone.", examples=["[thin, aim]"]
    )
    certainty: CertaintyText | None = Field(
        None,
        description="How certain a gap is to lie within its window before thin steels are spared, "
        "for this job alone; or none.",
        examples=["99 %"],
    )
    priority: Whole = Field(
        "1", validate_default=True, description="How much it counts among several.", examples=["3"]
    )
    due: Day | None = Field(None, description="When it is due.", examples=["2031-04-09"])
    gauges: dict[Text, Gauge] = Field(
        {},
        description="Gauges of this job, in place of the unit file's or beside them.",
        examples=["{feeler: {tells: 0.001 in, limits: 0.0005 in}}"],
    )
    parts_read_with: Text | None = Field(
        None,
        description="The gauge that thicknesses were measured with where nothing is said beside "
        "them, for this job. Without it they count as a caliper's.",
        examples=["micrometer"],
    )
    hand: Text | None = Field(
        None, description="Who measures, for `gapwright check --history`.", examples=["JM"]
    )
    note: Text | None = Field(None, description="Anything to remember.", examples=["towed in"])
    promised: Promised | None = Field(
        None,
        description="What was promised for it; `gapwright fit --promise` writes it.",
        examples=["{on: 2031-04-02, answer: 7K3M-2P9Q-VXTA, gaps: {...}}"],
    )
    closed: Closed | None = Field(
        None,
        description="How it was closed; `gapwright close` writes it.",
        examples=["{on: 2031-04-09, by: JM, record: 4C2D-88QF-0XTR}"],
    )
