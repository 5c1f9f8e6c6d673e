"""The aims of a rebuild that a file may name.

A name here is only a word; what it measures is declared in `solver/problem/aims.py`, which cannot
be imported while one of them is undeclared there.
"""

from __future__ import annotations

from typing import Literal, get_args

Aim = Literal["layout", "thin", "heat", "middle", "change", "aim", "spare"]
AIMS: tuple[Aim, ...] = get_args(Aim)
"""In their standard order, which counts where a file names none."""
