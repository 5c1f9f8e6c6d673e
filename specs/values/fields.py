"""The base class of every model of a file, and the types of its fields.

The YAML reader hands over nothing but text, so every number is parsed here from decimal text and
never passes through a binary float. A bare length takes the unit that its file declares. That unit
travels in pydantic's validation context, together with the keys that each mapping may have, from
which a refusal of a misspelt key makes its suggestion.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, get_args, get_origin, get_type_hints

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainValidator,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticCustomError

from specs.errors import quoted
from specs.values.lengths import Length, LengthError, LengthUnit, parse_exact, parse_length
from specs.values.ranges import parse_range

if TYPE_CHECKING:
    from collections.abc import Iterator

TEXT_OR_NUMBER = {"type": ["string", "number"]}


@dataclass(slots=True)
class Context:
    """What a validator knows of the file besides the value at hand."""

    unit: LengthUnit | None = None
    """The unit of bare lengths; None where the file declares none."""
    keys: dict[int, tuple[str, ...]] = field(default_factory=dict)
    """The keys each mapping may have, by the `id` of the mapping."""


def refuse(found: object, wanted: str) -> PydanticCustomError:
    """Build the error with which every validator refuses a value.

    Parameters
    ----------
    found
        The value as it stands in the file.
    wanted
        What to write instead.

    Returns
    -------
    PydanticCustomError
        An error of type `refused`, whose sentence says both.
    """
    return PydanticCustomError("refused", "{sentence}", {"sentence": f"{quoted(found)}; {wanted}"})


def _spaced(name: str) -> str:
    return name.rstrip("_").replace("_", " ")


class Written(BaseModel):
    """A mapping in a file: frozen, no unknown keys, keys written with spaces.

    A class with a `short` key may also be written as the bare value of that key.
    """

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=_spaced,
        arbitrary_types_allowed=True,
        defer_build=True,  # the whole file is built once, when the first is read
    )
    short: ClassVar[str] = ""
    short_types: ClassVar[tuple[str, ...]] = ("string", "number")

    @model_validator(mode="before")
    @classmethod
    def _expand(cls, data: Any, info: ValidationInfo) -> Any:
        if not isinstance(data, dict):
            if cls.short and isinstance(data, str | list):
                return {cls.short: data}
            raise refuse(data, f"write a mapping with the keys {', '.join(cls.keys())}")
        if isinstance(info.context, Context):
            info.context.keys[id(data)] = cls.keys()
        return data

    @classmethod
    def keys(cls) -> tuple[str, ...]:
        """Name every key the mapping may have, as it is written."""
        return tuple(_spaced(name) for name in cls.model_fields)

    @classmethod
    def __get_pydantic_json_schema__(cls, core: Any, handler: Any) -> dict[str, Any]:
        schema: dict[str, Any] = handler(core)
        if not cls.short:
            return schema
        return {"anyOf": [*({"type": kind} for kind in cls.short_types), schema]}


ANY = "*"
"""Stands in a path for a name that whoever writes the file chooses."""


def paths_of(model: type[Written], kind: object) -> Iterator[tuple[str, ...]]:
    """Yield the paths in a section of a file at which values of one kind are written.

    Parameters
    ----------
    model
        The class of the section.
    kind
        The type of the field, such as `LengthText`; a list of such values counts too.

    Yields
    ------
    tuple of str
        The keys from the section to the value, `ANY` for a free name. Where a mapping may be
        written as the bare value of its short key, the path without that key comes too.
    """
    hints = get_type_hints(model, include_extras=True)
    for key, name in zip(model.keys(), model.model_fields, strict=True):
        for path in _paths_in(hints[name], kind):
            yield (key, *path)
            if name == model.short:
                yield path


def _paths_in(hint: Any, kind: object) -> Iterator[tuple[str, ...]]:
    if hint == kind:
        yield ()
    elif isinstance(hint, type) and issubclass(hint, Written):
        yield from paths_of(hint, kind)
    elif get_origin(hint) is dict:
        for path in _paths_in(get_args(hint)[1], kind):
            yield (ANY, *path)
    elif get_origin(hint) is Annotated:
        yield from _paths_in(get_args(hint)[0], kind)
    else:  # one of several types, or a list
        for each in get_args(hint):
            yield from _paths_in(each, kind)


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise refuse(value, "write a word or a sentence here")
    return value.strip()


def _whole(value: Any) -> int:
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]{1,6}", value):
        raise refuse(value, "write a whole number of 0 or more, such as 3")
    return int(value)


def _rational(value: Any) -> Fraction:
    shape = r"[-+]?([0-9]{1,6}(/[1-9][0-9]{0,5})?|[0-9]{0,6}\.[0-9]{1,6})"
    if not isinstance(value, str) or not re.fullmatch(shape, value):
        raise refuse(value, "write a factor such as 1, -1, 0, 1/2 or 0.5")
    return Fraction(value)


def _flag(value: Any) -> bool:
    words = {"yes": True, "true": True, "no": False, "false": False}
    if not isinstance(value, str) or value.lower() not in words:
        raise refuse(value, "write yes or no")
    return words[value.lower()]


def _money(value: Any) -> Decimal:
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,4})?", value):
        raise refuse(value, "write a price such as 4.50")
    return Decimal(value)


def _date(value: Any) -> str:
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            return date.fromisoformat(value).isoformat()
    except (TypeError, ValueError):
        pass
    raise refuse(value, "write a date such as 2031-04-09")


def unit_of(info: ValidationInfo) -> LengthUnit | None:
    """Return the unit of bare lengths in the file being read; None where it declares none."""
    return info.context.unit if isinstance(info.context, Context) else None


def read_length(value: Any, info: ValidationInfo) -> Length:
    """Validate a length field.

    Parameters
    ----------
    value
        The length as text, or a `Length` already.
    info
        pydantic's context, which holds a `Context` with the unit of bare lengths.

    Returns
    -------
    Length
        The exact length.

    Raises
    ------
    PydanticCustomError
        Where it is no length; the sentence says what to write instead.
    """
    if isinstance(value, Length):
        return value
    if not isinstance(value, str):
        raise refuse(value, "write a length such as 0.071 in, 1.80 mm or 71 thou")
    try:
        return parse_length(value, unit_of(info))
    except LengthError as error:
        raise PydanticCustomError("length", "{sentence}", {"sentence": str(error)}) from None


def _exact(value: Any) -> Length:
    try:
        return parse_exact(value if isinstance(value, str) else "")
    except LengthError as error:
        raise PydanticCustomError("length", "{sentence}", {"sentence": str(error)}) from None


@dataclass(frozen=True, slots=True)
class Span:
    """A range of lengths. An open end is None; a single length has both ends equal."""

    low: Length | None
    high: Length | None

    @property
    def middle(self) -> Length:
        """The exact middle. Raises ValueError where an end is open."""
        if self.low is None or self.high is None:
            raise ValueError("a one-sided range has no middle")
        return (self.low + self.high) / 2

    def holds(self, length: Length) -> bool:
        """Say whether a length lies in the range, its ends included."""
        above = self.low is None or self.low <= length
        return above and (self.high is None or length <= self.high)


def _span(value: Any, info: ValidationInfo) -> Span:
    if not isinstance(value, str):
        raise refuse(value, "write a range such as 0.050 to 0.070 in")
    try:
        return Span(*parse_range(value, unit_of(info)))
    except LengthError as error:
        raise PydanticCustomError("length", "{sentence}", {"sentence": str(error)}) from None


def _printed(value: Any, info: ValidationInfo) -> Span:
    """Read a thickness: one value, or the lowest and highest that a maker prints for it."""
    try:
        single = read_length(value, info)
    except PydanticCustomError as not_single:
        try:
            span = _span(value, info)
        except PydanticCustomError:
            raise not_single from None
        if span.low is None or span.high is None:
            raise refuse(value, "a printed thickness has both ends: 3.05 to 3.15 mm") from None
        return span
    return Span(single, single)


def _names(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Text = Annotated[str, PlainValidator(_text), WithJsonSchema(TEXT_OR_NUMBER)]
Names = Annotated[
    tuple[Text, ...],
    BeforeValidator(_names),
    WithJsonSchema({"anyOf": [TEXT_OR_NUMBER, {"type": "array", "items": TEXT_OR_NUMBER}]}),
]
Whole = Annotated[int, PlainValidator(_whole), WithJsonSchema({"type": "integer", "minimum": 0})]
Rational = Annotated[Fraction, PlainValidator(_rational), WithJsonSchema(TEXT_OR_NUMBER)]
Flag = Annotated[bool, PlainValidator(_flag), WithJsonSchema({"enum": [True, False, "yes", "no"]})]
Money = Annotated[Decimal, PlainValidator(_money), WithJsonSchema(TEXT_OR_NUMBER)]
Day = Annotated[str, PlainValidator(_date), WithJsonSchema({"type": "string", "format": "date"})]
LengthText = Annotated[Length, PlainValidator(read_length), WithJsonSchema(TEXT_OR_NUMBER)]
ExactText = Annotated[Length, PlainValidator(_exact), WithJsonSchema({"type": "string"})]
SpanText = Annotated[Span, PlainValidator(_span), WithJsonSchema({"type": "string"})]
ThicknessText = Annotated[Span, PlainValidator(_printed), WithJsonSchema(TEXT_OR_NUMBER)]
State = dict[Text, Text]
