"""What an answer's class says of its JSON: as JSON Schema, and as tables of the guide.

Sentences are read from the source, where they stand below their keys, types from the annotations.
Only who asks for a schema or a table imports this.
"""

from __future__ import annotations

import ast
import sys
from fractions import Fraction
from functools import cache
from inspect import getsource
from itertools import pairwise
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, Literal, Union, get_args, get_origin, get_type_hints

from gapwright.output.answers import Answer, Words, spoken
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

LENGTH = {
    "type": "object",
    "description": "A length: `nm` is exact, a whole number or a fraction as text; `shown` is what "
    "a person reads.",
    "properties": {"nm": {"type": ["integer", "string"]}, "shown": {"type": "string"}},
    "required": ["nm", "shown"],
}
SCALARS: dict[Any, tuple[str, str]] = {
    str: ("string", "text"),
    Words: ("string", "text"),
    int: ("integer", "whole number"),
    float: ("number", "number"),
    bool: ("boolean", "true or false"),
    Fraction: ("string", "fraction as text"),
    NoneType: ("null", "null"),
}
"""Each scalar, as JSON Schema and as a reader of the guide calls it."""
HOLDERS: dict[Any, tuple[str, str, str]] = {
    list: ("array", "items", "list of"),
    dict: ("object", "additionalProperties", "by name:"),
}
"""Likewise what holds several, and the key of its schema for what it holds."""


def title(answer: type[Answer]) -> str:
    """The name of a part of an answer, in schemas and in the guide."""
    return answer.__name__.removesuffix("Answer")


def about(answer: type[Answer]) -> str:
    """What a class says it is, in one line."""
    return " ".join((answer.__doc__ or "").split())


def sentences(answer: type[Answer]) -> dict[str, str]:
    """The sentence of each key of an answer, by attribute."""
    found: dict[str, str] = {}
    for one in reversed(answer.__mro__[:-1]):
        found |= _written(one.__module__).get(one.__name__, {})
    return {name: found.get(name, "") for name in answer.keys}


@cache
def _written(module: str) -> dict[str, dict[str, str]]:
    """The sentences of a module's classes."""
    tree = ast.parse(getsource(sys.modules[module]))
    return {one.name: _below(one.body) for one in tree.body if isinstance(one, ast.ClassDef)}


def _below(body: Sequence[ast.stmt]) -> dict[str, str]:
    """The texts that stand right below the annotated names of a class."""
    return {
        key.target.id: " ".join(text.value.value.split())
        for key, text in pairwise(body)
        if isinstance(key, ast.AnnAssign)
        and isinstance(key.target, ast.Name)
        and isinstance(text, ast.Expr)
        and isinstance(text.value, ast.Constant)
        and isinstance(text.value.value, str)
    }


def types(answer: type[Answer]) -> dict[str, Any]:
    """The type of each key of an answer, by attribute."""
    hints = get_type_hints(answer)
    return {name: hints[name] for name in answer.keys}


def mentioned(answers: Sequence[type[Answer]]) -> dict[type[Answer], None]:
    """Answers and all they are made of, in the order they are mentioned."""
    found: dict[type[Answer], None] = {}
    for answer in answers:
        if answer not in found:
            found[answer] = None
            for hint in types(answer).values():
                parts = [one for one in _inside(hint) if one not in found]
                found |= {one: None for one in mentioned(parts) if one not in found}
    return found


def _inside(hint: Any) -> Iterator[type[Answer]]:  # noqa: ANN401 - a type
    if isinstance(hint, type) and issubclass(hint, Answer):
        yield hint
    elif get_origin(hint) is not Literal:
        for one in get_args(hint):
            yield from _inside(one)


def schema(answers: Sequence[type[Answer]]) -> dict[str, Any]:
    """The JSON Schema of an answer that is one of some classes, with all it is made of."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **either(answers, "#/$defs/"),
        "$defs": definitions(answers, "#/$defs/"),
    }


def either(answers: Sequence[type[Answer]], at: str) -> dict[str, Any]:
    """The JSON Schema of one of some answers, by reference; references begin with `at`."""
    refs = [{"$ref": at + title(one)} for one in answers]
    return {"anyOf": refs} if len(refs) > 1 else refs[0]


def definitions(answers: Sequence[type[Answer]], at: str) -> dict[str, Any]:
    """The JSON Schemas of answers and all they are made of, by name; references begin with `at`."""
    return {Length.__name__: LENGTH} | {title(one): _object(one, at) for one in mentioned(answers)}


def _object(answer: type[Answer], at: str) -> dict[str, Any]:
    descriptions = sentences(answer)
    properties: dict[str, Any] = {"shape": {"const": answer.shape}} if answer.shape else {}
    needed = [*properties]
    for name, hint in types(answer).items():
        left_out = answer.keys[name].left_out
        properties[spoken(name)] = {"description": descriptions[name]} | _schema(
            hint, at, null=not left_out
        )
        needed += [] if left_out else [spoken(name)]
    return {
        "type": "object",
        "description": about(answer),
        "properties": properties,
        "required": needed,
    }


def _schema(hint: Any, at: str, *, null: bool = True) -> dict[str, Any]:  # noqa: ANN401 - a type
    if hint in SCALARS:
        return {"type": SCALARS[hint][0]}
    if isinstance(hint, type):
        return {"$ref": at + (title(hint) if issubclass(hint, Answer) else hint.__name__)}
    origin, inside = get_origin(hint), get_args(hint)
    if origin is Literal:
        return {"enum": [*inside]} if len(inside) > 1 else {"const": inside[0]}
    if origin in HOLDERS:
        kind, held, _ = HOLDERS[origin]
        return {"type": kind, held: _schema(inside[-1], at)}
    if origin not in (Union, UnionType):
        raise TypeError(f"an answer holds no {hint}")
    some = [_schema(one, at) for one in inside if null or one is not NoneType]
    if all(one.keys() == {"type"} for one in some):
        return {"type": [one["type"] for one in some] if len(some) > 1 else some[0]["type"]}
    return {"anyOf": some} if len(some) > 1 else some[0]


def table(answer: type[Answer]) -> Iterator[str]:
    """The keys of an answer as the guide lists them."""
    descriptions = sentences(answer)
    yield "| key | value | meaning |"
    yield "| --- | --- | --- |"
    if answer.shape:
        yield f"| `shape` | `{answer.shape}` | The name of the shape and its number. |"
    for name, hint in types(answer).items():
        may_lack = " It may be left out." if answer.keys[name].left_out else ""
        value = words(hint, null=not may_lack)
        yield f"| `{spoken(name)}` | {value} | {descriptions[name]}{may_lack} |"


def link(answer: type[Answer]) -> str:
    """A link to where the guide lists an answer."""
    return f"[{title(answer)}](#{title(answer).lower()})"


def words(hint: Any, *, null: bool = True) -> str:  # noqa: ANN401 - a type
    """A type in words of the guide."""
    if hint in SCALARS:
        return SCALARS[hint][1]
    if isinstance(hint, type):
        return link(hint) if issubclass(hint, Answer) else hint.__name__.lower()
    origin, inside = get_origin(hint), get_args(hint)
    if origin is Literal:
        return " or ".join(f"`{one}`" for one in inside)
    if origin in HOLDERS:
        return f"{HOLDERS[origin][2]} {words(inside[-1])}"
    return " or ".join(words(one) for one in inside if null or one is not NoneType)
