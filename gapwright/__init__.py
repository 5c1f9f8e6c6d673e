"""gapwright for scripts: each verb as a function, and its answers' classes, loaded when used.

    import gapwright

    report = gapwright.fit_job(Path("job.yaml"))
    if isinstance(report.answer, gapwright.Fit):
        print(gapwright.render(report))

Every function takes the paths of files and gives back a frozen answer, which `render` writes in
words or as JSON. Bad files raise `InputError` with every problem in them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gapwright.batch.service import PlanOptions, PlanReport, plan_jobs
    from gapwright.check.answer import Check
    from gapwright.check.service import check_job
    from gapwright.cover.service import Cover, CoverOptions, cover_unit
    from gapwright.fit.report import Report
    from gapwright.fit.service import fit_case, fit_job
    from gapwright.kit.service import KitCheck, check_kit
    from gapwright.output.rendering import render
    from gapwright.stock.kit.service import KitReport, choose_kit
    from gapwright.stock.shelf.answer import Period, ShelfReport
    from gapwright.stock.shelf.service import choose_shelf
    from gapwright.tell.pile import identify_part
    from gapwright.tell.service import Identification, Measured
    from inventory import Shelf, open_shelf
    from solver import Fit, Limits, NoFit, Undecided
    from specs import Case, GapwrightError, InputError, Length, parse_length, read_case, show

_HOMES = {
    "gapwright.batch.service": ("PlanOptions", "PlanReport", "plan_jobs"),
    "gapwright.check.answer": ("Check",),
    "gapwright.check.service": ("check_job",),
    "gapwright.cover.service": ("Cover", "CoverOptions", "cover_unit"),
    "gapwright.fit.report": ("Report",),
    "gapwright.fit.service": ("fit_case", "fit_job"),
    "gapwright.kit.service": ("KitCheck", "check_kit"),
    "gapwright.output.rendering": ("render",),
    "gapwright.stock.kit.service": ("KitReport", "choose_kit"),
    "gapwright.stock.shelf.answer": ("Period", "ShelfReport"),
    "gapwright.stock.shelf.service": ("choose_shelf",),
    "gapwright.tell.pile": ("identify_part",),
    "gapwright.tell.service": ("Measured", "Identification"),
    "inventory": ("Shelf", "open_shelf"),
    "solver": ("Fit", "Limits", "NoFit", "Undecided"),
    "specs": (
        "Case",
        "GapwrightError",
        "InputError",
        "Length",
        "parse_length",
        "read_case",
        "show",
    ),
}

__all__ = [
    "Case",
    "Check",
    "Cover",
    "CoverOptions",
    "Fit",
    "GapwrightError",
    "Identification",
    "InputError",
    "KitCheck",
    "KitReport",
    "Length",
    "Limits",
    "Measured",
    "NoFit",
    "Period",
    "PlanOptions",
    "PlanReport",
    "Report",
    "Shelf",
    "ShelfReport",
    "Undecided",
    "check_job",
    "check_kit",
    "choose_kit",
    "choose_shelf",
    "cover_unit",
    "fit_case",
    "fit_job",
    "identify_part",
    "open_shelf",
    "parse_length",
    "plan_jobs",
    "read_case",
    "render",
    "show",
]


def __getattr__(name: str) -> object:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(home), name)
    raise AttributeError(f"module 'gapwright' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
