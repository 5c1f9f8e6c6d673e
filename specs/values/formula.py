"""The space of a gap as a manual prints it: a signed sum of readings, lengths and the trial stack.

    depth - straightedge        L + gasket - l        26.9 mm + l/2 - m        trial stack + gap

A plus or minus between terms stands between blanks, since a reading's name may hold a hyphen. A
term may have a factor: `3/2 * stroke`, `l/2`.
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
"""The name of the trial stack among the terms."""
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
    """One signed summand: a factor times a named reading, or times a fixed length."""

    factor: Fraction
    name: str | None
    """The reading's name, or `TRIAL`; None for a fixed length."""
    length: Length | None
    """The fixed length; None for a reading."""


@dataclass(frozen=True, slots=True)
class Formula:
    """The terms of a space, with the text they were read from."""

    text: str
    terms: tuple[Term, ...]

    @property
    def readings(self) -> tuple[str, ...]:
        """The names of the readings it needs, each once, in their order."""
        names = [term.name for term in self.terms if term.name and term.name != TRIAL]
        return tuple(dict.fromkeys(names))

    @property
    def fixed(self) -> Length:
        """The sum of its fixed lengths, each times its factor."""
        return sum((t.length * t.factor for t in self.terms if t.length is not None), ZERO)

    @property
    def trial_factor(self) -> Fraction:
        """The factor of the trial stack; zero where the space is not read with a trial build."""
        return sum((t.factor for t in self.terms if t.name == TRIAL), Fraction(0))

    def factor(self, reading: str) -> Fraction:
        """Return by how much the space grows with a reading; zero where it is not in the sum."""
        return sum((t.factor for t in self.terms if t.name == reading), Fraction(0))


def parse_formula(text: str, unit: LengthUnit | None = None) -> Formula:
    """Read the space of a gap from a unit file's text.

    Parameters
    ----------
    text
        A sum such as `26.9 mm + l/2 - m`.
    unit
        The unit of bare numbers in it; None where the file declares none.

    Returns
    -------
    Formula
        Its terms, in order.

    Raises
    ------
    FormulaError
        Where the text is no such sum, or one of its lengths cannot be read.
    """
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
