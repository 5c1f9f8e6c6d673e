"""The record of a job: what was promised for it, and how it was closed.

`gapwright` writes these sections; a person reads them. In a job file and as the text of a ledger's
note they are the same maps, lists and texts: `plain` writes them, validation reads them back.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from specs.errors import quoted
from specs.values.codes import canonical, code_of
from specs.values.fields import Day, ExactText, Text, Whole, Written, refuse
from specs.values.lengths import Length, exact

if TYPE_CHECKING:
    from collections.abc import Mapping

    from specs.values.lengths import LengthUnit

_PERCENT = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,4})?) %")
_HUNDRED = 100
RECORD = ("promised", "closed")
"""The sections of a job that are its record."""
PROMISE_ANEW = "take `promised` out of the file, and keep an answer with `gapwright fit --promise`"
"""What to do with a promise that cannot stand."""


def listed(value: Any) -> tuple[tuple[str, ...], ...]:
    """Validate a list of parts in the order of the stack, each a size or a list of sizes."""
    if not isinstance(value, list):
        raise refuse(value, "list the parts in the order of the stack: [thick, thin, 0.0780]")
    items = [[item] if isinstance(item, str) else item for item in value]
    for item in items:
        if not isinstance(item, list) or not all(isinstance(part, str) for part in item):
            raise refuse(item, "write a size, or a list of sizes where shims lie together")
    return tuple(tuple(part.strip() for part in item) for item in items)


def _percent(value: Any) -> Fraction:
    found = _PERCENT.fullmatch(value) if isinstance(value, str) else None
    if found is None or Fraction(found[1]) > _HUNDRED:
        raise refuse(value, "write a percentage up to 100, such as 99.9 %")
    return Fraction(found[1])


ListedParts = Annotated[
    tuple[tuple[str, ...], ...], PlainValidator(listed), WithJsonSchema({"type": "array"})
]
Percent = Annotated[Fraction, PlainValidator(_percent), WithJsonSchema({"type": "string"})]


class Taken(Written):
    """Parts of one lot that a job takes from the shelf, or gives back to it."""

    family: Text = Field(description="Their family.", examples=["drum ring"])
    size: Text = Field(description="Their size.", examples=["0.0700"])
    bin: Text | None = Field(None, description="Where they lie.", examples=["B2"])
    count: Whole = Field(description="How many there are.", examples=["1"])
    thickness: ExactText | None = Field(
        None, description="Their thickness, where the lot was measured.", examples=["0.0702 in"]
    )
    condition: Literal["new", "used"] = Field("new", description="new or used.", examples=["used"])
    lot: Text | None = Field(None, description="The shelf's own label for them.", examples=["T-7"])
    code: Text | None = Field(
        None, description="The lot's code, in a ledger.", examples=["7K3M-2P9Q-VXTA"]
    )


class PromisedGap(Written):
    """What was promised of one gap: its build, and the gap it will measure."""

    layout: Text = Field(description="Its layout.", examples=["full plate"])
    parts: ListedParts = Field(
        description="The parts whose size is chosen, listed as under `now`.",
        examples=["[thin, thick, thick, 0.0700]"],
    )
    gap: ExactText = Field(description="The gap it will measure, exact.", examples=["0.068 in"])
    u: ExactText = Field(description="Its standard uncertainty.", examples=["0.0016 in"])
    sure: Percent = Field(
        description="The chance that it lies within its window.", examples=["99.9 %"]
    )
    space: ExactText = Field(description="The space it was worked out in.", examples=["1.2345 in"])


class Promised(Written):
    """What was promised for a job when its answer was kept; `gapwright` writes it.

    A promise changed by hand no longer has its own code, and is refused.
    """

    on: Day = Field(description="The day it was kept.", examples=["2031-04-02"])
    job: Text = Field(description="The name of the job it was made for.", examples=["J-1042"])
    unit: Text = Field(description="The unit it was made for.", examples=["Harrow 4"])
    answer: Text = Field(
        description="The answer's code, worked out from all of this but the day.",
        examples=["7K3M-2P9Q-VXTA"],
    )
    from_: Text = Field(
        description="The code of the unit and the job it was made from, as written.",
        examples=["4C2D-88QF-0XTR"],
    )
    gaps: dict[Text, PromisedGap] = Field(
        description="What was promised of each gap.",
        examples=["{low drum: {parts: [thin, thick, thick, 0.0700], ...}}"],
    )
    takes: tuple[Taken, ...] = Field(
        (),
        description="What is fetched from the shelf, by lot.",
        examples=["[{family: drum ring, size: 0.0700, bin: B2, count: 1}]"],
    )

    @property
    def code(self) -> str:
        """The code of what it holds; that under `answer` unless it was changed by hand."""
        held = plain(self, "mm")
        return code_of(canonical({key: held[key] for key in held.keys() - {"on", "answer"}}))

    @property
    def edited(self) -> str:
        """The sentence on a promise that was changed by hand; empty where it is as it was kept."""
        if self.answer == self.code:
            return ""
        return f"{quoted(self.answer)}; what stands here was changed by hand: {PROMISE_ANEW}"


class Correction(Written):
    """That a record was corrected after its job was closed."""

    on: Day = Field(description="The day it was corrected.", examples=["2031-04-12"])
    by: Text = Field(description="Who corrected it.", examples=["JM"])
    why: Text = Field(description="Why, in a few words.", examples=["the ring was a .0600"])


class Closed(Written):
    """How a job was closed; `gapwright close` writes it."""

    on: Day = Field(description="The day it was closed.", examples=["2031-04-09"])
    by: Text = Field(description="Who closed it.", examples=["JM"])
    record: Text = Field(
        description="The code of the job as it was closed, its promise included; a job changed "
        "since has another.",
        examples=["4C2D-88QF-0XTR"],
    )
    used: tuple[Taken, ...] = Field(
        (),
        description="What went in from the shelf, by lot.",
        examples=["[{family: drum ring, size: 0.0700, bin: B2, count: 1}]"],
    )
    back: tuple[Taken, ...] = Field(
        (),
        description="What was taken from the shelf and went back to it.",
        examples=["[{family: drum steel, size: thin, count: 1}]"],
    )
    corrected: tuple[Correction, ...] = Field(
        (),
        description="When the record was corrected afterwards, by whom and why.",
        examples=["[{on: 2031-04-12, by: JM, why: the ring was a .0600}]"],
    )


def plain(record: Written, unit: LengthUnit) -> dict[str, Any]:
    """Write a record as plain maps, lists, texts and whole numbers, that read back the same.

    Parameters
    ----------
    record
        A promise, a closing or a part of one.
    unit
        The unit of its lengths; one that is no whole number of its smallest digits is in mm.
    """
    fields = type(record).model_fields
    values = {key: getattr(record, name) for key, name in zip(record.keys(), fields, strict=True)}
    left = {key for key, field in zip(values, fields.values(), strict=True)
            if not field.is_required() and values[key] == field.default}  # fmt: skip
    return {key: _plain(values[key], unit) for key in values if key not in left}


def _plain(value: Any, unit: LengthUnit) -> Any:
    if isinstance(value, Written):
        return plain(value, unit)
    if isinstance(value, dict):
        return {key: _plain(one, unit) for key, one in value.items()}
    if isinstance(value, tuple):  # a place with one part is written as that part alone
        return [_plain(one[0] if _alone(one) else one, unit) for one in value]
    if isinstance(value, Length):
        return exact(value, unit)
    return percent(value) if isinstance(value, Fraction) else value


def percent(value: Fraction) -> str:
    """Write a percentage of up to four decimals, such as 99.9 %."""
    whole, part = divmod(int(value * 10_000), 10_000)
    return f"{whole}.{part:04d}".rstrip("0").rstrip(".") + " %"


def _alone(value: Any) -> bool:
    return isinstance(value, tuple) and len(value) == 1


def without_record(job: Mapping[str, Any]) -> dict[str, Any]:
    """Return a job as written without its record: `promised`, `closed` and what was `as built`.

    A gap of which nothing else is written is left out, as if it had never been there.
    """
    kept = {key: value for key, value in job.items() if key not in RECORD}
    gaps = kept.pop("gaps", {})
    if isinstance(gaps, dict):
        gaps = {
            name: {key: value for key, value in gap.items() if key != "as built"}
            for name, gap in gaps.items()
        }
        gaps = {name: gap for name, gap in gaps.items() if gap}
    return {**kept, "gaps": gaps} if gaps else kept
