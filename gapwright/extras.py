"""What is not installed with the tool unless asked for, and how to ask for it."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

EXTRAS = {"jinja2": "sheet", "segno": "sheet"}


@contextmanager
def need(package: str) -> Iterator[None]:
    """Raise InputError that says how to get a package where importing it fails."""
    try:
        yield
    except ModuleNotFoundError as error:
        if error.name != package:
            raise
        extra = EXTRAS[package]
        sentence = f"needs {package}, which is not installed: pip install 'gapwright[{extra}]'"
        raise InputError(Problem(sentence, f"gapwright {extra}")) from None
