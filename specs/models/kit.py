"""The kit file: what is handed over together for one overhaul of one unit."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, Field, WithJsonSchema

from specs.values.fields import Names, Text, Whole, Written


def _counts(value: Any) -> Any:
    return {ONE_THICKNESS: value} if isinstance(value, str) else value


ONE_THICKNESS = ""
"""What stands for the size of a part that has none to choose from."""
Counts = Annotated[
    dict[str, Whole],
    BeforeValidator(_counts),
    WithJsonSchema({"type": ["integer", "string", "object"]}),
]
Contents = dict[Text, Counts]


class Replaced(Written):
    """A part that every overhaul replaces."""

    short: ClassVar[str] = "because"

    because: Text = Field(
        description="Why, repeated in print.", examples=["crushed when the pump is bolted down"]
    )
    count: Whole = Field(
        "1", validate_default=True, description="How many an overhaul takes.", examples=["4"]
    )


class KitOption(Written):
    """Parts of a kit that only some overhauls take."""

    when: Text = Field(
        description="When to take them, in a sentence.",
        examples=["the drum is the deep one and four frictions are wanted"],
    )
    contents: Contents = Field(
        {}, description="As the kit's.", examples=["{drum plate: {cut: 1}, drum friction: 1}"]
    )
    also_in_it: dict[Text, Whole] = Field(
        {}, description="As the kit's.", examples=["{long bolt: 2}"]
    )


class Kit(Written):
    """What is handed over together for one overhaul; it serves as a shelf where one is asked for.

    Its parts are new and as sold.
    """

    name: Text = Field("kit", description="What you call it.", examples=["overhaul kit"])
    for_: Names = Field(
        (),
        description="The packs and end plays it is for; all of the unit's unless stated.",
        examples=["[low drum, front play]"],
    )
    contents: Contents = Field(
        {},
        description="How many of each size, by family; of a family that is not chosen how many.",
        examples=["{drum steel: {thick: 3, thin: 1}, friction: 4}"],
    )
    also_in_it: dict[Text, Whole] = Field(
        {},
        description="Parts of no family of the unit, and how many.",
        examples=["{pump gasket: 1, piston seal: 2}"],
    )
    options: dict[Text, KitOption] = Field(
        {},
        description="Parts that only some overhauls take.",
        examples=["{cut plate: {when: four frictions are wanted, contents: {...}}}"],
    )
    always_replaced: dict[Text, Replaced] = Field(
        {},
        description="What every overhaul replaces besides what the unit file says: a family, or a "
        "part named under `also in it`.",
        examples=["{pump gasket: crushed when the pump is bolted down}"],
    )
    note: Text | None = Field(
        None, description="Printed with the kit.", examples=["soak the frictions first"]
    )
