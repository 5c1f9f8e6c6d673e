"""The vocabulary: lengths, units, shelves, jobs, and how files become them."""

from specs.case import Case
from specs.errors import GapwrightError, InputError, JudgeError, Problem
from specs.files import read_case
from specs.lengths import Length, parse_length, show
from specs.stock import Lot

__all__ = [
    "Case", "GapwrightError", "InputError", "JudgeError", "Length", "Lot", "Problem",
    "parse_length", "read_case", "show",
]  # fmt: skip
