"""What a verb found, in words or as JSON."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, cast

from gapwright.output.answers import dump
from gapwright.verbs import writers_of

if TYPE_CHECKING:
    from specs.values.lengths import LengthUnit


def render(found: object, lengths: LengthUnit | None = None, *, as_json: bool = False) -> str:
    """Write what a verb found as text for a person, or as JSON for a program.

    Parameters
    ----------
    found
        What a function of this package gave back, such as a `Report` of `fit_job`.
    lengths
        The unit of the lengths in it, `in`, `mm` or `thou`; each unit file's own unless stated.
    as_json
        JSON in the shape that `gapwright schema answer` describes, in place of sentences.

    Returns
    -------
    str
        The text, without a line break at its end.

    Raises
    ------
    TypeError
        Where it is nothing that a verb finds.

    """
    folder, text, answer = writers_of(type(found).__name__)
    if not folder:
        raise TypeError(f"{type(found).__name__} is nothing that gapwright found")
    it = cast("Any", found)
    unit = lengths or it.length
    if as_json:
        return dump(getattr(import_module(f"{folder}.answer"), answer)(it), unit)
    return "\n".join(getattr(import_module(f"{folder}.text"), text)(it, unit))
