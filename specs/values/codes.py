"""Codes: the short names of lots, answers and files, worked out from their contents alone."""

from __future__ import annotations

import json
from hashlib import sha256
from typing import Any

_SIGNS = "ABCDEFGHJKMNPQRSTVWXYZ0123456789"  # no I, L, O and U: read wrongly, or into words
_PAIRS = [first + second for first in _SIGNS for second in _SIGNS]


def code_of(text: str) -> str:
    """Return the code of a text: 60 bits of its sha256 in 12 signs, such as 7K3M-2P9Q-VXTA."""
    bits = int.from_bytes(sha256(text.encode()).digest()[:8], "big")
    pairs = _PAIRS  # ten bits each
    return (
        f"{pairs[bits >> 50 & 1023]}{pairs[bits >> 40 & 1023]}-"
        f"{pairs[bits >> 30 & 1023]}{pairs[bits >> 20 & 1023]}-"
        f"{pairs[bits >> 10 & 1023]}{pairs[bits & 1023]}"
    )


def canonical(data: Any) -> str:
    """Write plain maps, lists, texts and whole numbers as JSON; equal data give equal text."""
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
