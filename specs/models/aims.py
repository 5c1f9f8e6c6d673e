"""The aims of a rebuild that a file may name.

A name here is only a word; what it measures is declared in `solver/problem/aims.py`, which cannot
be imported while one of them is undeclared there.
"""

from __future__ import annotations

from typing import Literal, get_args

Aim = Literal["layout", "thin", "heat", "middle", "change", "aim", "sure", "spare"]
KNOWN_AIMS: tuple[Aim, ...] = get_args(Aim)
"""In their standard order."""
AIMS: tuple[Aim, ...] = tuple(aim for aim in KNOWN_AIMS if aim != "sure")
"""Those that count where a file names none: `sure` weighs every build, and only where named."""
