"""The verbs, each once: the folders of its answers, and who writes what it finds.

A verb `NAME` is the command of this name in `gapwright/cli/NAME.py`. All else is named as text, so
that nothing is imported before it is used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

Writers = dict[str, tuple[str, str]]

VERBS: dict[str, dict[str, Writers]] = {
    "fit": {"fit": {"Report": ("fit_text", "answer_of")}},
    "check": {
        "check": {
            "Check": ("check_text", "CheckAnswer"),
            "CheckHistory": ("history_text", "CheckHistoryAnswer"),
        }
    },
    "cover": {"cover": {"Cover": ("cover_text", "CoverAnswer")}},
    "tell": {
        "tell": {
            "Pile": ("pile_text", "PileAnswer"),
            "Identification": ("part_text", "part_answer"),
        }
    },
    "batch": {
        "batch": {"PlanReport": ("plan_text", "PlanAnswer"), "Plans": ("plans_text", "answer_of")}
    },
    "close": {"close": {"Closing": ("close_text", "CloseAnswer")}},
    "jobs": {"jobs": {"Jobs": ("jobs_text", "JobsAnswer")}},
    "stock": {
        "stock.kit": {"KitReport": ("kit_text", "StockKitAnswer")},
        "stock.shelf": {"ShelfReport": ("shelf_text", "StockShelfAnswer")},
    },
    "kit": {
        "kit": {
            "KitCheck": ("check_text", "KitCheckAnswer"),
            "Packed": ("packed_text", "KitPackAnswer"),
        }
    },
    "shelf": {"shelf": {}},
    "serve": {"web": {}},
    "sheet": {},
    "demo": {},
    "schema": {},
    "guide": {},
}
"""By verb, in the order of the guide, and by folder of `gapwright`: its `answer.py` declares what
is printed as JSON; the class of what is found names the function of the folder's `text.py` that
writes it in words, and the class or function of `answer.py` that makes its answer."""


def folders() -> Iterator[str]:
    """Yield the packages whose `answer.py` declares what verbs print, in the order of the guide."""
    for verb in VERBS.values():
        for folder in verb:
            yield f"gapwright.{folder}"


def writers_of(found: str) -> tuple[str, str, str]:
    """Return who writes a class of what is found: the package, in its `text.py`, its `answer.py`.

    All three are empty where it is nothing that a verb finds.
    """
    for verb in VERBS.values():
        for folder, writers in verb.items():
            if found in writers:
                return (f"gapwright.{folder}", *writers[found])
    return "", "", ""
