"""A short name for what was asked: the same files give the same one, any other figure another."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from specs.models.case import Case

DIGITS, GROUP = 12, 4


def answer_id(case: Case) -> str:
    """A hash of the unit, the shelf and the job as written, comments aside: 3f9a-21c0-7b55."""
    asked = [
        [name, origin.length, origin.source.data.get(name)]
        for name, origin in sorted(case.origins.items())
    ]
    digits = hashlib.sha256(json.dumps(asked).encode()).hexdigest()[:DIGITS]
    return "-".join(digits[start : start + GROUP] for start in range(0, DIGITS, GROUP))
