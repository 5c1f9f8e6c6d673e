"""Times several ways of doing one thing in turns, so that the machine's drift meets all alike."""

from __future__ import annotations

from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


def in_turns(
    ways: Mapping[str, Callable[[], object]],
    rounds: int,
    clock: Callable[[], float] = perf_counter,
) -> dict[str, float]:
    """Run every way once a round, each round begun by another, and give the median seconds.

    `clock` tells the seconds: those of the wall, or of the processor (`time.process_time`), which
    a busy machine does not lengthen.
    """
    names = list(ways)
    seconds: dict[str, list[float]] = {name: [] for name in names}
    for nth in range(rounds):
        first = nth % len(names)
        for name in (*names[first:], *names[:first]):
            begun = clock()
            ways[name]()
            seconds[name].append(clock() - begun)
    return {name: median(taken) for name, taken in seconds.items()}


def ask_same(ways: Mapping[str, Callable[[], object]]) -> object:
    """Run every way once and give what all of them find.

    Raises RuntimeError where two find different things, for one of them is wrong then.
    """
    found = {name: way() for name, way in ways.items()}
    (first, answer), *others = found.items()
    for name, other in others:
        if other != answer:
            raise RuntimeError(f"{first} finds {answer}, {name} finds {other}")
    return answer
