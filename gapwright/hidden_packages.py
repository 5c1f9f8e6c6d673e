"""Names a file of the user's own that hides one of our packages, before it does harm."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

HOME = Path(__file__).resolve().parent.parent


def check_imports() -> str:
    """A sentence that names the file in the way, or nothing."""
    for name in ("specs", "inventory", "solver"):
        found = find_spec(name)
        origin = Path(found.origin).resolve() if found and found.origin else None
        if origin is None or origin.parent.parent != HOME:
            return (
                f"{origin or name}: this hides gapwright's own package `{name}`; rename it, or run "
                "gapwright from another folder"
            )
    return ""
