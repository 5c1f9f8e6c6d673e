"""Writes answers.md, the reference of the answers, from the classes that declare them.

    python -m gapwright.guide.reference > gapwright/guide/answers.md

A test holds the two together.
"""

from __future__ import annotations

import json
import sys
from importlib import import_module
from typing import TYPE_CHECKING

from gapwright.output.answer_schema import about, link, mentioned, schema, table, title
from gapwright.verbs import folders
from specs.errors import InputError, Problem
from specs.findings import near

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.output.answers import Answer

OPENING = """\
# The answers

What every verb prints with `--json`, key by key. This page is made from the classes that declare
the answers (`python -m gapwright.guide.reference`), as are the JSON Schemas that
`gapwright schema answer` prints. An answer begins with its `shape`, a name and a number: within
it keys may be added; a key that is renamed or dropped brings the next number.

A **length** is an object of `nm`, exact nanometres as a whole number or a fraction as text, and
`shown`, what a person reads. Nothing in an answer depends on the time, the engine or the number
of workers unless its sentence says so.
"""


def answers() -> dict[str, tuple[type[Answer], ...]]:
    """What each verb prints, one of some classes, by the verb's name."""
    return {
        verb: classes
        for folder in folders()
        for verb, classes in import_module(f"{folder}.answer").ANSWERS.items()
    }


def answer_schema(verb: str = "") -> str:
    """The JSON Schema of what a verb prints with `--json`, of all verbs where none is named.

    Raises InputError for a verb there is none of, with those there are.
    """
    known = answers()
    if verb and verb not in known:
        raise InputError(Problem(f"answer: {near(verb, [*known], 'write one of')}"))
    classes = dict.fromkeys(one for name in ([verb] if verb else known) for one in known[name])
    return json.dumps(schema([*classes]), indent=1)


def reference() -> Iterator[str]:
    """The lines of the page."""
    yield OPENING
    described: set[type[Answer]] = set()
    for verb, classes in answers().items():
        yield f"## gapwright {verb}\n"
        yield f"{' or '.join(map(link, classes))}\n"
        for one in mentioned(classes):
            if one not in described:
                described.add(one)
                yield f"### {title(one)}\n"
                yield f"{about(one)}\n"
                yield from table(one)
                yield ""


if __name__ == "__main__":
    sys.stdout.write("\n".join(reference()))
