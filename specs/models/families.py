"""Families of parts: what fits the same place and differs by thickness."""

from __future__ import annotations

import re
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from specs.values.fields import LengthText, Money, State, Text, ThicknessText, Written, refuse
from specs.values.lengths import ZERO, Length

Kind = Literal[
    "steel", "friction", "ring", "pressure plate", "apply plate", "cushion", "washer", "shim",
    "spacer",
]  # fmt: skip
KINDS: tuple[str, ...] = get_args(Kind)
STACKABLE = ("shim", "spacer")  # never rings, tabbed washers or bearing races
SOLD_WITHIN = Length(25_400)  # 0.0010 in either way: common practice, without a source
FACED = ("steel", "friction", "pressure plate", "apply plate")  # what a lining may run on


def _many(value: Any) -> Any:
    """Let sizes be one length, a list of lengths, or named."""
    if isinstance(value, str):
        return {value: value}
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return {item: item for item in value}
    return value


def _pack(value: Any) -> int:
    if not isinstance(value, str) or not re.fullmatch(r"[1-9][0-9]{0,4}", value):
        raise refuse(value, "write how many are sold together, 1 or more, such as 10")
    return int(value)


Pack = Annotated[int, PlainValidator(_pack), WithJsonSchema({"type": "integer", "minimum": 1})]


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
    sold_in: Pack = Field(
        "1",
        validate_default=True,
        description="How many are sold together: an order is in whole packs of so many.",
        examples=["10"],
    )
    wear_limit: LengthText | None = Field(
        None,
        description="No part of this size thinner than this is used; in place of the family's.",
        examples=["0.0850 in"],
    )
    wears_by: LengthText | None = Field(
        None,
        description="How much a used part of this size may be thinner than new; in place of the "
        "family's.",
        examples=["0.0030 in"],
    )
    features: State = Field(
        {},
        description="What tells this size from the others of its family by eye, beside its mark.",
        examples=["{notch: none}"],
    )

    @cached_property
    def nominal(self) -> Length:
        """The thickness the part is sold as; of a printed range its middle."""
        return self.thickness.middle

    @property
    def lowest(self) -> Length:
        """The lowest thickness printed for it."""
        return self.nominal if self.thickness.low is None else self.thickness.low


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
    tolerance: LengthText | None = Field(
        None,
        description="How far a part may be off its nominal, either way; 0 where it is exact. "
        "Without it and without a printed range, 0.0010 in counts for the chance of a gap alone.",
        examples=["0.0010 in"],
    )
    features: State = Field(
        {},
        description="What tells its parts from those of other families, in words of your own; "
        "a length may be a range. For `gapwright tell`.",
        examples=["{teeth: 36, diameter: 5.18 to 5.22 in}"],
    )
    wear_limit: LengthText | None = Field(
        None,
        description="No part thinner than this is used. Of several sizes it is the thinnest one's: "
        "a thicker one may wear by as much and no more, unless `wears by` says how much.",
        examples=["0.0640 in"],
    )
    flat_within: LengthText | None = Field(
        None,
        description="A used part that is out of flat by more is not used again.",
        examples=["0.0060 in"],
    )
    cone_within: LengthText | None = Field(
        None,
        description="A used part that is coned by more is not used again.",
        examples=["0.240 mm"],
    )
    reject_for: State = Field(
        {},
        description="What is not used again when it is seen, each with why.",
        examples=["{hot spots: overheated there and hard or cracked}"],
    )
    pass_with: State = Field(
        {},
        description="What may be seen of a used part that is used again, each with why.",
        examples=["{color smear: from heat it was made for}"],
    )
    wears_by: LengthText | None = Field(
        None,
        description="How much a used part may be thinner than the thinnest new one of its size; "
        "one that lost more is worn. Of a family of one thickness, down to its wear limit unless "
        "stated.",
        examples=["0.0040 in"],
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

    def thinnest_used(self, size: str = "") -> Length | None:
        """Return how thin a part of a size may be and still be used; None without a limit.

        Parameters
        ----------
        size
            The size; empty for a family of one fixed thickness.
        """
        spec = self.sizes.get(size)
        own = spec is not None and (spec.wear_limit, spec.wears_by) != (None, None)
        limit = spec.wear_limit if spec and own else self.wear_limit
        wears_by = spec.wears_by if spec and own else self.wears_by
        new = self.fixed if spec is None else spec.lowest
        if new is None:
            return limit
        if wears_by is not None:
            worn = new - self.stated_tolerance - wears_by
            return worn if limit is None else max(limit, worn)
        if spec is None or own or limit is None:
            return limit
        return limit + new - min(other.lowest for other in self.under_its_limit)

    @property
    def under_its_limit(self) -> list[Size]:
        """The sizes that the family's wear limit is for: those without one of their own."""
        sizes = self.sizes.values()
        return [one for one in sizes if one.wear_limit is None and one.wears_by is None]

    def worn(self, size: str, thickness: Length) -> bool:
        """Say whether a part of a size is too thin to be used; the size of a fixed one is empty."""
        least = self.thinnest_used(size)
        return least is not None and thickness < least

    @property
    def stated_tolerance(self) -> Length:
        """The tolerance as stated, for what goes by the maker's word; zero without one."""
        return self.tolerance or ZERO

    def sold_within(self, size: str) -> Length:
        """Return how far a part as sold may be off the middle of its size, either way.

        Parameters
        ----------
        size
            One of its sizes; empty for the one thickness of a fixed family.

        Returns
        -------
        Length
            Half the printed range and the tolerance; `SOLD_WITHIN` where neither is stated.
        """
        half = ZERO
        if size:
            low, high = self.sizes[size].thickness.low, self.sizes[size].thickness.high
            half = (high - low) / 2 if low and high else ZERO
        if self.tolerance is None and not half:
            return SOLD_WITHIN
        return half + self.stated_tolerance

    def features_of(self, size: str) -> dict[str, str]:
        """All that tells parts of a size from others by eye, its mark included."""
        features = {"kind": str(self.kind), **({"form": self.form} if self.form else {})}
        features |= self.features
        if size:
            spec = self.sizes[size]
            features |= {**({"mark": spec.mark} if spec.mark else {}), **spec.features}
        return features
