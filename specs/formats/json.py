"""JSON as a program sends it, turned into the same maps, lists and texts as a YAML file.

Numbers keep the digits they came with and never pass through a float. A key whose value is null
counts as left out. A key that comes twice is refused, and so is a number that nobody measures, such
as NaN.
"""

from __future__ import annotations

import json
from typing import Any, NoReturn

from specs.errors import InputError, Problem, shortened, visible
from specs.findings import dotted
from specs.formats.yaml import UNPRINTABLE, Source

MOST_BYTES, MOST_DEPTH = 1_000_000, 20


def parse_json(raw: bytes, file: str) -> Source:
    """Parse a job that a program sent.

    Parameters
    ----------
    raw
        What was sent: JSON in UTF-8, at most 1 MB.
    file
        The name to call it in messages.

    Returns
    -------
    Source
        The same maps, lists and texts as those of a YAML file; no lines are known.

    Raises
    ------
    InputError
        With the first problem found.
    """
    if len(raw) > MOST_BYTES:
        _refuse(file, "is larger than 1 MB: send one job at a time")
    try:
        data = json.loads(
            raw.decode("utf-8"), parse_float=str, parse_int=str, parse_constant=_no_number,
            object_pairs_hook=_once,
        )  # fmt: skip
    except UnicodeDecodeError:
        _refuse(file, "holds a character that is not UTF-8")
    except json.JSONDecodeError as error:
        sentence = (
            f"is no JSON: {error.msg[:1].lower()}{error.msg[1:]} at character {error.pos + 1}"
        )
        _refuse(file, sentence)
    except RecursionError:
        _refuse(file, f"is nested deeper than {MOST_DEPTH} levels: no job is")
    except _TwiceError as twice:
        _refuse(file, f'"{visible(shortened(str(twice)))}" is written twice: keep one')
    except _NoNumberError as error:
        _refuse(file, f"{error} is no number: write what was measured")
    if not isinstance(data, dict):
        _refuse(file, 'is no object: send {"unit": ..., "shelf": ..., "job": {...}}')
    return Source(file, _checked(data, file, ()), {(): 0})


class _TwiceError(ValueError):
    """A key that stands twice in one object."""


class _NoNumberError(ValueError):
    """A value that JSON readers accept as a number and nobody measures, such as NaN."""


def _no_number(text: str) -> NoReturn:
    raise _NoNumberError(text)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data: dict[str, Any] = {}
    for key, value in pairs:
        if key.strip() in data:
            raise _TwiceError(key)
        data[key.strip()] = value
    return data


def _checked(value: Any, file: str, path: tuple[str | int, ...]) -> Any:
    """Return a value with every scalar as text, as the YAML reader hands it over."""
    if len(path) > MOST_DEPTH:
        _refuse(file, f"is nested deeper than {MOST_DEPTH} levels: no job is")
    if isinstance(value, dict):
        for key in value:
            _check_text(key, file, path)
        held = {key: one for key, one in value.items() if one is not None}
        return {key: _checked(one, file, (*path, key)) for key, one in held.items()}
    if isinstance(value, list):
        return [_checked(one, file, (*path, nth)) for nth, one in enumerate(value)]
    if value is None:
        _refuse(file, "has no value: write one or leave it out", path)
    if isinstance(value, bool):
        return "yes" if value else "no"
    _check_text(value, file, path)
    return value


def _check_text(text: str, file: str, path: tuple[str | int, ...]) -> None:
    odd = UNPRINTABLE.search(text)
    if odd:
        _refuse(file, f"holds an invisible character (U+{ord(odd[0]):04X}): delete it", path)


def _refuse(file: str, sentence: str, path: tuple[str | int, ...] = ()) -> NoReturn:
    raise InputError(Problem(sentence, file, field=dotted(path)))
