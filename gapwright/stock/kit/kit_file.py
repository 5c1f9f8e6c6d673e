"""A kit that was chosen, as a kit file: to be checked, priced and packed."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from gapwright.output.files import check_ending, check_folder, check_new, put
from specs.formats.yaml import parse, written

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.stock.kit.service import KitReport

ENDINGS = (".yaml", ".yml")


def check_kit_file(file: Path, *, replace: bool) -> None:
    """Raise InputError where a kit cannot be written to a file, before one is looked for."""
    check_ending(file, ENDINGS, "a kit file .yaml")
    check_new(file, replace=replace)
    check_folder(file)


def write_kit(report: KitReport, file: Path, *, replace: bool) -> bool:
    """Write the kit that was chosen to a file; False where there is none, or nothing in it.

    Raises InputError where the file cannot be written.
    """
    if report.kit is None or not report.kit.contents:
        return False
    contents: dict[str, dict[str, int]] = {}
    for choice, count in sorted(report.kit.contents.items()):
        part = report.choices[choice]
        contents.setdefault(part.family, {})[part.size] = count
    unit = os.path.relpath(report.case.origins["unit"].source.file, file.parent)
    kit = {"name": f"{report.case.unit.name} kit", "contents": contents}
    text = written({"unit": unit.replace(os.sep, "/"), "kit": kit})
    parse(text, str(file))
    put(text, file, replace=replace)
    return True
