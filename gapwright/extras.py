"""What is not installed with the tool unless asked for, and how to ask for it."""

from __future__ import annotations

from importlib.util import find_spec

from specs.errors import InputError, Problem

EXTRAS = {
    "cluster": ("dask", "distributed"),
    "pictures": ("matplotlib",),
    "labels": ("jinja2", "segno"),
    "serve": ("fastapi", "uvicorn", "jinja2", "segno", "markdown_it"),
    "sheet": ("jinja2", "segno"),
}


def check_extra(extra: str, asked: str = "") -> None:
    """Raise InputError that says how to get what an extra brings, where it is not there.

    It is laid to what was asked for: the verb of the extra's name if not said.
    """
    lacking = [package for package in EXTRAS[extra] if find_spec(package) is None]
    if lacking:
        sentence = f"needs {' and '.join(lacking)}: pip install 'gapwright[{extra}]'"
        raise InputError(Problem(sentence, asked or f"gapwright {extra}"))
