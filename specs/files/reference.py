"""Writes the guide's page on files from the models themselves.

    python -m specs.files.reference > gapwright/guide/files.md

A test compares the page with the models.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from specs.files.parse import File
from specs.models import (
    bands,
    belonging,
    families,
    gaps,
    gauges,
    heating,
    job,
    kit,
    record,
    shelf,
    stacks,
    unit,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pydantic.fields import FieldInfo

    from specs.values.fields import Written

CHAPTERS: tuple[tuple[str, type[Written]], ...] = (
    ("A file", File),
    ("unit", unit.Unit),
    ("unit.families", families.Family),
    ("... sizes", families.Size),
    ("unit.packs", gaps.Pack),
    ("... heat", heating.Heating),
    ("unit.end plays", gaps.EndPlay),
    ("... window", stacks.Window),
    ("... stack: a place", stacks.Place),
    ("... groove", stacks.Groove),
    ("... reach", stacks.Reach),
    ("... layouts", stacks.Layout),
    ("... readings", gaps.Reading),
    ("... spaces", gaps.Spaces),
    ("... measure", gaps.Measure),
    ("... allowances", gaps.Allowance),
    ("unit.shared parts", stacks.Shared),
    ("unit.bands", bands.Band),
    ("unit.gauges", gauges.Gauge),
    ("unit.facts", unit.Fact),
    ("unit.rules", unit.Rule),
    ("unit.belongs together", belonging.Belonging),
    ("shelf: a lot", shelf.ShelfLot),
    ("job", job.Job),
    ("job.gaps", job.GapJob),
    ("... a reading as taken", job.TakenReading),
    ("... trial and now", job.Parts),
    ("... as built", job.AsBuilt),
    ("job.promised", record.Promised),
    ("... gaps", record.PromisedGap),
    ("... takes, and what was used or went back", record.Taken),
    ("job.closed", record.Closed),
    ("... corrected", record.Correction),
    ("kit", kit.Kit),
    ("... options", kit.KitOption),
    ("... always replaced", kit.Replaced),
)
"""The chapters of the page: a title, and the model whose keys it lists."""
OPENING = """\
# The files

Sections, in one file or in one each: what a **unit** is, what lies on the **shelf**, and what was
read in one **job**; and what a **kit** holds. A section that stands in another file is named by its
path. This page is made from the models in this folder (`python -m specs.files.reference`);
nothing else is accepted.

**Lengths** are exact. Write `0.071 in`, `.071"`, `71 thou`, `1.80 mm` or `1,80 mm`; a bare number
takes the file's `length` (`in`, `mm` or `thou`), and is refused without one. A range is written
`0.050 to 0.070 in`, `1.7 ± 0.1 mm`, `at least .010` or `at most .030`. Where both units are given,
`1.10 mm (0.043 in)`, they must agree. A key that has a short form may be written as that value
alone: `window: .050 to .070` is `window: {gap: .050 to .070}`.

The **shelf** is a mapping of families to sizes to lots: `drum steel: {thick: 5, thin: [{count: 2,
bin: B2}, {count: 1, thickness: .0684}]}`. A size is named as in the unit file, or by its mark or
thickness.

A **build** (a trial build, or the one now in the unit) lists the parts whose size is chosen, from
the first end of the stack to the second; fixed parts are left out. A place is called by its own
name or its part's, numbered from the first end where that occurs more than once: `drum steel 2`.
"""


def reference() -> Iterator[str]:
    """Yield the lines of the page."""
    yield OPENING
    for title, model in CHAPTERS:
        yield f"## {title}\n"
        yield f"{' '.join((model.__doc__ or '').split())}\n"
        if model.short:
            yield f"Short form: the value of `{model.short}` alone.\n"
        yield "| key | meaning | unless stated | example |"
        yield "| --- | --- | --- | --- |"
        for key, field in zip(model.keys(), model.model_fields.values(), strict=True):
            yield _row(key, field)
        yield ""


def _row(key: str, field: FieldInfo) -> str:
    example = str((field.examples or [""])[0])
    cells = (f"`{key}`", field.description or "", _default(field), f"`{example}`")
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "**needed**"
    default: Any = field.default
    if default is None or default in ({}, ()) or not isinstance(default, str | tuple | dict):
        return ""
    return f"`{default if isinstance(default, str) else ', '.join(map(str, default))}`"


if __name__ == "__main__":
    sys.stdout.write("\n".join(reference()))
