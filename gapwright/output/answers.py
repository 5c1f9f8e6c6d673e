"""How an answer is declared: each key of its JSON once, with type, sentence and source.

    class BoughtAnswer(Answer):
        \"\"\"Parts of one size to buy.\"\"\"

        family: str
        \"\"\"The family, as the unit file names it.\"\"\"
        cost: str = key(lambda part, count: exact_money(part.price * count))
        \"\"\"What they cost, in the currency of the unit file.\"\"\"

    BoughtAnswer(part, count=3)

Such a class reads what a verb found and holds nothing of its own: here a part, and a count beside
it. A key is read when it is asked for: by its `key`, whose arguments are called as what stands
beside is called, the first being the part otherwise; without one it is what stands beside under
its name, or the part's attribute. JSON (`dump`), JSON Schema and the reference of the guide
(`answer_schema.py`) all follow from the class; nothing of them is built before it is asked for.

Exact figures stay exact: a length is an object of `nm`, a whole number or a fraction as text, and
of `shown`, what a person reads; a fraction is text. There are no times and no figures of the engine
in an answer unless its keys say so, so the same input gives the same text on every machine.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from fractions import Fraction
from inspect import get_annotations
from typing import Any, ClassVar, TypeVar

from specs.values.lengths import Length, LengthUnit, show

T = TypeVar("T")
Words = Callable[[LengthUnit], str]
"""A text whose lengths are printed in the unit that is asked for."""
Exact = Fraction | int
"""A whole number, or a fraction as text."""


def key(get: Callable[..., T] | None = None, *, left_out: bool = False) -> T:
    """Declare how a key of an answer is read; with `left_out` it is not there where it is None."""
    declared: Any = Key(get, left_out=left_out)
    return declared  # type: ignore[no-any-return] # what an instance reads


class Key:
    """A key of an answer: where it is read, and what becomes of nothing."""

    __slots__ = ("arguments", "get", "left_out", "may_be_null", "name")

    def __init__(self, get: Callable[..., Any] | None, *, left_out: bool = False) -> None:
        self.get, self.left_out = get, left_out
        code = getattr(get, "__code__", None)  # a class has none and takes the subject alone
        self.arguments: tuple[str, ...] = code.co_varnames[: code.co_argcount] if code else ("",)
        self.name, self.may_be_null = "", False

    def __get__(self, answer: Answer | None, owner: object = None) -> Any:  # noqa: ANN401 - any type
        if answer is None:
            return self
        subject, beside = answer.subject, answer.beside
        if self.get is not None:
            first, *others = self.arguments
            value = self.get(beside.get(first, subject), *(beside[name] for name in others))
        elif self.name in beside:
            value = beside[self.name]
        else:
            value = getattr(subject, self.name)
        return None if self.may_be_null and value == "" else value


class Answer:
    """What a verb found, by the keys of its JSON; an empty text is null where a key may be null."""

    __slots__ = ("beside", "subject")
    shape: ClassVar[str] = ""
    """The name and number of the shape, the first key where there is one."""
    indent: ClassVar[int] = 1
    keys: ClassVar[dict[str, Key]] = {}
    """By attribute, in the order of the JSON."""

    def __init__(self, subject: object = None, /, **beside: Any) -> None:  # noqa: ANN401 - each of its own
        self.subject, self.beside = subject, beside

    def __init_subclass__(cls, shape: str = "", indent: int = 1) -> None:
        """Take the keys from the annotations of a class, after those of the classes it extends."""
        bases = (base.keys for base in cls.__bases__ if issubclass(base, Answer))
        cls.keys = {name: one for keys in bases for name, one in keys.items()}
        cls.shape, cls.indent = shape or cls.shape, indent
        for name, written in get_annotations(cls).items():
            one = cls.__dict__.get(name)
            if not isinstance(one, Key):
                one = Key(None)
                setattr(cls, name, one)
            one.name, one.may_be_null = name, written.endswith("| None")
            cls.keys[name] = one


def spoken(name: str) -> str:
    """A key as the JSON has it: with spaces, without what keeps it from being a word of Python."""
    return name.rstrip("_").replace("_", " ")


def plain(value: object, unit: LengthUnit | None, own: LengthUnit = "in") -> Any:  # noqa: ANN401 - JSON
    """A value of an answer as plain data.

    Lengths are shown in the unit that is asked for, otherwise in that of the nearest answer which
    has a `length` beside its subject, otherwise in `own`.
    """
    if isinstance(value, Answer):
        own = value.beside.get("length", own)
        keys = {"shape": value.shape} if value.shape else {}
        for name, one in value.keys.items():
            found = getattr(value, name)
            if found is not None or not one.left_out:
                keys[spoken(name)] = plain(found, unit, own)
        return keys
    if isinstance(value, list | tuple):
        return [plain(one, unit, own) for one in value]
    if isinstance(value, dict):
        return {name: plain(one, unit, own) for name, one in value.items()}
    if isinstance(value, Length):
        return {"nm": plain(value.nm, unit), "shown": show(value, unit or own)}
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else str(value)
    return value(unit or own) if callable(value) else value


def dump(answer: Answer, unit: LengthUnit | None, *, compact: bool = False) -> str:
    """An answer as JSON text, its lengths shown in a unit; compact on one line."""
    indent = None if compact else answer.indent
    return json.dumps(plain(answer, unit), ensure_ascii=False, allow_nan=False, indent=indent)
