"""gapwright for scripts: everything one needs under one name, loaded when it is used.

import gapwright

report = gapwright.fit_job(Path("job.yaml"))
if isinstance(report.answer, gapwright.Fit): ...
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gapwright.batch.service import PlanReport, Wish, plan_jobs
    from gapwright.check.answer import Check
    from gapwright.check.service import check_job
    from gapwright.fit.report import Report
    from gapwright.fit.service import fit_case, fit_job
    from gapwright.kit.service import KitCheck, check_kit
    from gapwright.kit.text import tell_kit
    from gapwright.output.rendering import render
    from solver import Fit, Limits, NoFit, Undecided
    from specs import Case, GapwrightError, InputError, Length, parse_length, read_case, show

_HOMES = {
    "gapwright.fit.service": ("fit_case", "fit_job"),
    "gapwright.batch.service": ("PlanReport", "Wish", "plan_jobs"),
    "gapwright.fit.report": ("Report",),
    "gapwright.kit.service": ("KitCheck", "check_kit"),
    "gapwright.kit.text": ("tell_kit",),
    "gapwright.check.answer": ("Check",),
    "gapwright.check.service": ("check_job",),
    "gapwright.output.rendering": ("render",),
    "solver": ("Fit", "Limits", "NoFit", "Undecided"),
    "specs": (
        "Case", "GapwrightError", "InputError", "Length", "parse_length", "read_case", "show",
    ),
}  # fmt: skip

__all__ = [
    "Case", "Check", "Fit", "GapwrightError", "InputError", "KitCheck", "Length", "Limits", "NoFit",
    "PlanReport", "Report", "Undecided", "Wish", "check_job", "check_kit", "fit_case", "fit_job",
    "parse_length", "plan_jobs", "read_case", "render", "show", "tell_kit",
]  # fmt: skip


def __getattr__(name: str) -> object:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(home), name)
    raise AttributeError(f"module 'gapwright' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
