"""Keeps standard output free of text that an engine prints before it can be silenced."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextmanager
def silent_output() -> Iterator[None]:
    """Discard everything written to standard output meanwhile, by Python or an engine.

    A standard output that is closed is left as it is.
    """
    if sys.stdout is not None:
        sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:
        yield
        return
    nothing = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nothing, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nothing)
