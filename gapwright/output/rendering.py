"""What a verb found, in words or as JSON: the one place that knows who writes which."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, cast

from gapwright.output.answers import dump

if TYPE_CHECKING:
    from specs.values.lengths import LengthUnit

FACES = {
    "Report": ("gapwright.fit.text.fit_text", "gapwright.fit.answer.answer_of"),
    "Cover": ("gapwright.cover.text.cover_text", "gapwright.cover.answer.CoverAnswer"),
    "Check": ("gapwright.check.text.check_text", "gapwright.check.answer.CheckAnswer"),
    "CheckHistory": (
        "gapwright.check.history_text.history_text",
        "gapwright.check.answer.CheckHistoryAnswer",
    ),
    "Pile": ("gapwright.tell.text.pile_text", "gapwright.tell.answer.PileAnswer"),
    "Identification": ("gapwright.tell.text.part_text", "gapwright.tell.answer.part_answer"),
    "PlanReport": ("gapwright.batch.text.plan_text", "gapwright.batch.answer.PlanAnswer"),
    "Plans": ("gapwright.batch.text.plans_text", "gapwright.batch.answer.answer_of"),
    "KitCheck": ("gapwright.kit.text.check_text", "gapwright.kit.answer.KitCheckAnswer"),
    "Packed": ("gapwright.kit.text.packed_text", "gapwright.kit.answer.KitPackAnswer"),
    "KitReport": ("gapwright.stock.kit.text.kit_text", "gapwright.stock.kit.answer.StockKitAnswer"),
    "ShelfReport": (
        "gapwright.stock.shelf.text.shelf_text",
        "gapwright.stock.shelf.answer.StockShelfAnswer",
    ),
}
"""By the class of what was found: what writes it in words, and what its JSON is."""


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
    text, answer = FACES.get(type(found).__name__, ("", ""))
    if not text:
        raise TypeError(f"{type(found).__name__} is nothing that gapwright found")
    home, _, name = (answer if as_json else text).rpartition(".")
    write, it = getattr(import_module(home), name), cast("Any", found)
    unit = lengths or it.length
    return dump(write(it), unit) if as_json else "\n".join(write(it, unit))
