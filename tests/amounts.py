"""How much of what is repeated a run of the tests repeats: a part by default, all if asked.

A test that draws jobs at random says how many there are (`few(range(2_000))`) and how many of a
kind must be met among all of them (`share(700)`); a run takes the part that tests/conftest.py
chose for it.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Sequence

Thing = TypeVar("Thing")

PARTS = {"default": 20, "ci": 4, "exhaustive": 1}  # one in so many
SLACK = 2  # in a small part there may be half as many of a kind as in all
run = "default"


def few(seeds: range, fewest: int = 8) -> range:
    """The first of these seeds, as many as this run takes, and never fewer than so many."""
    return seeds[: times(len(seeds), fewest)]


def times(most: int, fewest: int = 8) -> int:
    """How many times of so many this run takes."""
    return max(ceil(most / PARTS[run]), min(fewest, most))


def every(things: Sequence[Thing]) -> Sequence[Thing]:
    """One in so many of these things, as this run takes them."""
    return things[:: PARTS[run]]


def some(things: Sequence[Thing], first: int, fewest: int = 1) -> Sequence[Thing]:
    """As many of these things as this run takes, beginning with another one each time."""
    first %= len(things)
    return [*things[first:], *things[:first]][: times(len(things), fewest)]


def spread(things: Sequence[Thing], fewest: int = 8) -> Sequence[Thing]:
    """As many of these things as this run takes, evenly from the first to the last."""
    taken, last = times(len(things), fewest), len(things) - 1
    return [things[nth * last // max(taken - 1, 1)] for nth in range(taken)]


def share(floor: int) -> int:
    """How many of a kind must be met in this run, where `floor` of them are met among all."""
    return floor if PARTS[run] == 1 else max(1, floor // (PARTS[run] * SLACK))
