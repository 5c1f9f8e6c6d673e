"""The vocabulary: lengths, units, shelves, jobs, and how files become them."""

from specs.errors import GapwrightError, InputError, JudgeError, Problem
from specs.files.read import read_case
from specs.models.case import Case
from specs.models.lot import Lot
from specs.values.lengths import Length, parse_length, show

__all__ = [
    "Case", "GapwrightError", "InputError", "JudgeError", "Length", "Lot", "Problem",
    "parse_length", "read_case", "show",
]  # fmt: skip
