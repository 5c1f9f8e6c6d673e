"""What can go wrong, as the caller's decision tree.

    GapwrightError            exit 1  unforeseen: a fault of ours, please report it
    ├── InputError            exit 2  a file, option or value the user can mend
    │   └── ShelfError        exit 2  a shelf's ledger refuses: inventory/refusals.py draws it on
    └── JudgeError            exit 1  an answer of the engine failed its check in plain integers

A message says where, what was found, and what to do. "No fit" is an answer, never an error.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


MOST_QUOTED = 60
MOST_LISTED = 20
_LONGEST_NAME = 255  # of a file, which is never cut
_QUOTES_AND_WORDS = re.compile(r'"[^"]*"|[^\s/"]+')


def visible(text: str) -> str:
    """Spell out line breaks and other invisible characters: a problem is one line."""
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)


def shortened(text: str) -> str:
    """Cut a text to what a message can quote."""
    return text if len(text) <= MOST_QUOTED else f"{text[:MOST_QUOTED]}..."


def brief(message: str) -> str:
    """Cut each quotation and each word, such as a number of 4,400 digits, to what is read of it.

    Every `Problem` is cut so, whoever worded it.
    """

    def cut(found: re.Match[str]) -> str:
        text = found[0]
        fits = len(text) <= _LONGEST_NAME
        return text if fits else f"{text[:MOST_QUOTED]}...{text[-MOST_QUOTED:]}"

    return _QUOTES_AND_WORDS.sub(cut, message)


def quoted(found: object) -> str:
    """Open a sentence with what was found."""
    if isinstance(found, str):
        return f'found "{shortened(found)}"'
    return "found a mapping" if isinstance(found, dict) else "found a list"


def listed(names: Sequence[str]) -> str:
    """Name what is allowed, as far as anybody reads on."""
    more = [f"and {len(names) - MOST_LISTED} more"] * (len(names) > MOST_LISTED)
    return ", ".join([*map(shortened, names[:MOST_LISTED]), *more]) or "none"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend: where it stands and a sentence that says what to write instead."""

    sentence: str
    file: str = ""
    line: int = 0
    field: str = ""

    def __post_init__(self) -> None:
        for name in ("sentence", "file", "field"):
            object.__setattr__(self, name, brief(getattr(self, name)))

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return visible(": ".join(part for part in (place, self.field, self.sentence) if part))


def _again(kind: type[GapwrightError], args: tuple[object, ...]) -> GapwrightError:
    return kind.__new__(kind, *args)


class GapwrightError(Exception):
    """Anything gapwright raises on purpose."""

    exit_code = 1

    def __reduce__(self) -> tuple[object, ...]:
        """Come out of another process as it was raised there, whatever it is made of."""
        return _again, (type(self), self.args), self.__dict__


class InputError(GapwrightError):
    """What the user wrote cannot be taken; every problem found is in `problems`."""

    exit_code = 2

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


def refusal(problems: Iterable[Problem], file: str = "") -> InputError:
    """Each problem once, as many as anybody reads on; `file` where all are of one."""
    unique = list(dict.fromkeys(problems))
    more = [Problem(f"and {len(unique) - MOST_LISTED} more", file)] * (len(unique) > MOST_LISTED)
    return InputError(*unique[:MOST_LISTED], *more)


class JudgeError(GapwrightError):
    """The engine's answer does not hold in plain integers; it is never shown as an answer."""
