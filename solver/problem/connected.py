"""Parts things into blocks: those that are tied, directly or through others, stand together."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


def blocks(number: int, ties: Iterable[Iterable[int]]) -> list[tuple[int, ...]]:
    """The blocks of so many things, each tie naming some of them; in the order of the first."""
    home = list(range(number))
    for tied in ties:
        merged = {home[one] for one in tied}
        least = min(merged, default=0)
        home = [least if at in merged else at for at in home]
    return [tuple(one for one, at in enumerate(home) if at == h) for h in sorted(set(home))]
