"""A space as the manual prints it: a signed sum of readings, fixed lengths and the trial stack.

    depth - straightedge        L + gasket - l        26.9 mm + l/2 - m        trial stack + gap

Plus and minus between terms stand between blanks, since a reading's name may hold a hyphen. A
term may carry a factor: `3/2 * stroke`, `l/2`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from specs.values.lengths import ZERO, Length, LengthError, parse_length

if TYPE_CHECKING:
    from specs.values.lengths import LengthUnit

TRIAL = "trial stack"
_NUMBER = r"[0-9]{1,6}(?:/[1-9][0-9]{0,5})?|[0-9]{0,6}\.[0-9]{1,6}"
_TERM = re.compile(
    rf"(?:(?P<before>{_NUMBER})\s*[*×·]\s*)?(?P<body>.*?)"
    rf"(?:\s*/\s*(?P<under>[1-9][0-9]{{0,5}})|\s*[*×·]\s*(?P<after>{_NUMBER}))?"
)
_LOOSE_SIGN = re.compile(r"^[-+−] | [-+−]$|^[-+−]$")


class FormulaError(ValueError):
    """A sum that cannot be read; the text says what to write instead."""


@dataclass(frozen=True, slots=True)
class Term:
    """One signed summand: a factor on a named reading, or on a fixed length."""

    factor: Fraction
    name: str | None
    length: Length | None


@dataclass(frozen=True, slots=True)
class Formula:
    """The terms of a space, and the text they were read from."""

    text: str
    terms: tuple[Term, ...]

    @property
    def readings(self) -> tuple[str, ...]:
        """The named readings it needs, each once, in their order."""
        names = [term.name for term in self.terms if term.name and term.name != TRIAL]
        return tuple(dict.fromkeys(names))

    @property
    def fixed(self) -> Length:
        """What its fixed lengths come to."""
        return sum((t.length * t.factor for t in self.terms if t.length is not None), ZERO)

    @property
    def trial_factor(self) -> Fraction:
        """How often the trial stack counts: 0 where the space does not come from a trial build."""
        return sum((t.factor for t in self.terms if t.name == TRIAL), Fraction(0))

    def factor(self, reading: str) -> Fraction:
        """What one unit of a reading adds to the space."""
        return sum((t.factor for t in self.terms if t.name == reading), Fraction(0))


def parse_formula(text: str, unit: LengthUnit | None = None) -> Formula:
    """Read a sum; a bare number in it takes the file's unit. Raises FormulaError."""
    parts = re.split(r"(?:^|\s+)([-+−])\s+|^([-+−])", " ".join(text.split()))
    pieces = [part for part in parts if part is not None and part.strip()]
    if not pieces:
        raise FormulaError("write a sum such as depth - straightedge")
    if pieces[0] not in "+-−":
        pieces.insert(0, "+")
    signs, bodies = pieces[::2], pieces[1::2]
    if len(signs) > len(bodies) or any(map(_LOOSE_SIGN.search, bodies)):
        raise FormulaError("put one term after each plus or minus: depth - straightedge")
    return Formula(text, tuple(map(_term, signs, bodies, [unit] * len(signs))))


def _term(sign: str, text: str, unit: LengthUnit | None) -> Term:
    found = _TERM.fullmatch(text.strip())
    if not found or not found["body"].strip():
        raise FormulaError(f'"{text}" is no term; write a reading, a length, or 1/2 * a reading')
    factor = Fraction(1 if sign == "+" else -1)
    for number in (found["before"], found["after"]):
        factor *= Fraction(number or 1)
    factor /= int(found["under"] or 1)
    body = found["body"].strip()
    if not re.match(r"[-+−]?\.?[0-9]", body):
        return Term(factor, body, None)
    try:
        return Term(factor, None, parse_length(body, unit))
    except LengthError as error:
        raise FormulaError(str(error)) from None
