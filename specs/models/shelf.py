"""The shelf file: what is on hand, by family and size."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from specs.values.fields import LengthText, Text, Whole, Written


def _reserved(value: Any) -> Any:
    return {"": value} if isinstance(value, str) else value


Reserved = Annotated[
    dict[str, Whole],
    BeforeValidator(_reserved),
    WithJsonSchema({"type": ["integer", "string", "object"]}),
]


class ShelfLot(Written):
    """Parts of one size with one thickness, in one bin."""

    short: ClassVar[str] = "count"

    count: Whole = Field(description="How many there are.", examples=["4"])
    thickness: LengthText | None = Field(
        None, description="As measured; otherwise the size's nominal.", examples=["0.0877 in"]
    )
    gauge: Text | None = Field(
        None,
        description="The gauge it was measured with; unless stated, the one of `parts read with`, "
        "or a caliper.",
        examples=["micrometer"],
    )
    within: LengthText | None = Field(
        None,
        description="How far the parts of the lot may be off what was measured of one of them, "
        "either way; unless stated each was measured.",
        examples=["0.0003 in"],
    )
    bin: Text | None = Field(None, description="Where they lie.", examples=["B3"])
    lot: Text | None = Field(None, description="Your own label for them.", examples=["T-7"])
    condition: Literal["new", "used"] = Field("new", description="new or used.", examples=["used"])
    reserved: Reserved = Field(
        {},
        description="How many are spoken for, or how many for which job; a job may take its own.",
        examples=["{J-1042: 1}"],
    )

    @property
    def spoken_for(self) -> int:
        """How many are reserved, for whomever."""
        return sum(self.reserved.values())


def _lots(value: Any) -> Any:
    return value if isinstance(value, list) else [value]


Lots = Annotated[
    tuple[ShelfLot, ...],
    BeforeValidator(_lots),
    WithJsonSchema({"type": ["integer", "string", "object", "array"]}),
]
Shelf = dict[Text, dict[Text, Lots]]
