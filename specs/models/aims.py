"""The aims of a rebuild that a file may name, and how certain the aim `safe` is to be.

A name here is only a word; what it measures is declared in `solver/problem/aims.py`, which cannot
be imported while one of them is undeclared there.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Any, Literal, get_args

from pydantic import PlainValidator, WithJsonSchema

from specs.values.fields import refuse

Aim = Literal["layout", "safe", "thin", "heat", "middle", "change", "aim", "spare"]
AIMS: tuple[Aim, ...] = get_args(Aim)
"""In their standard order, which counts where a file names none."""
CERTAIN = Fraction(95)
"""How certain, in percent, `safe` is unless a file says otherwise."""
_LEAST = 50
_PERCENT = re.compile(r"([0-9]{2}(?:\.[0-9]{1,2})?) ?%?")


def _certainty(value: Any) -> Fraction | Literal["none"]:
    if value == "none":
        return "none"
    found = _PERCENT.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None or Fraction(found[1]) < _LEAST:
        raise refuse(value, "write a percentage from 50 to 99.99, such as 95 %, or none")
    return Fraction(found[1])


Certainty = Fraction | Literal["none"]
CertaintyText = Annotated[
    Certainty, PlainValidator(_certainty), WithJsonSchema({"type": ["string", "number"]})
]
