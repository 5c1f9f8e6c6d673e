"""The code of what an answer was made from, on its sheet and in its promise; that of a record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from specs.models.record import without_record
from specs.values.codes import canonical, code_of

if TYPE_CHECKING:
    from specs.models.case import Case
    from specs.models.record import Promised


def made_from(case: Case) -> str:
    """Return the code of a case's unit, job and kit as written, without comments.

    The job's record (`promised`, `as built`, `closed`) does not count, nor does the shelf, whose
    counts move: so the code on a sheet is that of the job until somebody changes what it asks.
    """
    asked = {
        name: [origin.length or "", _asked(name, origin.source.data.get(name) or {})]
        for name, origin in case.origins.items()
        if name != "shelf"
    }
    return code_of(canonical(asked))


def is_changed(case: Case, promised: Promised) -> bool:
    """Say whether the unit or the job was changed since a promise was made from them."""
    return promised.from_ != made_from(case)


def record_code(case: Case, promised: Promised | None) -> str:
    """Return the code of a job's record: the job as written, and the promise that stands for it.

    How it was closed does not count, nor where the promise is kept.
    """
    job = case.origins["job"].source.data.get("job") or {}
    written = {key: value for key, value in job.items() if key not in ("promised", "closed")}
    return code_of(canonical([written, promised.answer if promised else ""]))


def _asked(name: str, section: Any) -> Any:
    return without_record(section) if name == "job" else section
