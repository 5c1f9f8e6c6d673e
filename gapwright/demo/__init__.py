"""The demo: an invented unit with shelf, kit, past drums and jobs, in a folder to play with.

The Harrow 4 is no real transmission; its numbers serve nothing but this demo.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

from gapwright.schema import schema_text
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from pathlib import Path

SCENARIO = (
    "unit.yaml", "shelf.yaml", "job.yaml", "job-no-fit.yaml", "job-built.yaml", "kit.yaml",
    "counter.csv", "pile.csv", "past.csv",
)  # fmt: skip
JOBS = ("job.yaml", "job-no-fit.yaml")
BUILT = "job-built.yaml"
KIT = "kit.yaml"
SCHEMA = "gapwright.schema.json"
PILE = "pile.csv"
MIXED = ("1.191in", "low spring=nine turns")
"""A piston measured, and the spring that lies beside it: of two sets."""


def write_demo(folder: Path) -> list[Path]:
    """Write the demo's files into a new folder and name its jobs.

    Raises InputError where the folder is there already: nothing of the user's is written over.
    """
    try:
        folder.mkdir(parents=True)
    except FileExistsError:
        sentence = "this is there already, and the demo writes over nothing; name a new folder"
        raise InputError(Problem(sentence, str(folder))) from None
    except OSError as error:
        raise InputError(
            Problem(f"cannot make this folder: {error.strerror}", str(folder))
        ) from None
    for name in SCENARIO:
        text = files("gapwright.demo").joinpath(name).read_text(encoding="utf-8")
        (folder / name).write_text(text, encoding="utf-8")
    (folder / SCHEMA).write_text(schema_text(), encoding="utf-8")
    return [folder / name for name in JOBS]
