"""Minimises goals of a live program in lexicographic order, whatever the engine.

This is the one descent of the solver: of a rebuild's levels, of a batch's, of the cost of a kit or
an order, of the misses where nothing fits. Goals are searched group after group. A group of one is
a goal by itself; the goals of a longer one are joined in one search, where weights keep their order
exactly. Each goal that is proved is held for the searches that follow. The descent ends where all
goals are proved, where a search ends without a proof, or with Ctrl-C; the best found is kept.

Callers differ in four things. Which goals one search joins is said by the groups, `joined` or
`one_by_one`. A goal that needs rows of its own is made when its group is asked for, which is after
all goals before it are held. What the best found is worth, and whether an engine's word proves it,
is said by an `Incumbent`: a batch judges every plan in plain integers, the others take the values
of the engine and are judged at the end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from solver.engines.expressions import add, scale, value_of
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from solver.engines.expressions import Expression
    from solver.engines.interface import Door
    from solver.engines.limits import Clock, Outcome, Status

SAFE = 2**40  # greatest product of joined goals' spans
OPEN = 2**62

Proof = Literal["exact", "engine", "open"]


@dataclass(frozen=True, slots=True)
class Goal:
    """One thing to minimise: its expression, and the least and greatest it can be, if known."""

    expression: Expression
    low: int = -OPEN
    high: int = OPEN


@dataclass(frozen=True, slots=True)
class GoalReached:
    """The value reached on one goal, and the proof of it."""

    value: int
    bound: int
    """A lower bound on the goal's value, given the values of the goals before it."""
    proof: Proof
    """`exact`: an integer bound meets the value; `engine`: the engine's does; `open`: none does."""


@dataclass(frozen=True, slots=True)
class Descent:
    """How far goals were brought down."""

    status: Status
    """`optimal`: every goal is proved; `feasible`: not all are; `infeasible`: no values satisfy
    the rows; `unknown`: none were found yet."""
    values: tuple[int, ...]
    """The best values found of the program's variables; empty where there are none."""
    reached: tuple[GoalReached, ...]
    """The goals that were searched, in order; after the first that is open there is none."""


class Incumbent:
    """The best that is known during a descent: the last values an engine found."""

    def __init__(self) -> None:
        self.found: tuple[int, ...] | None = None
        """A value for each of the program's variables; None where none were found yet."""

    @property
    def known(self) -> bool:
        """Whether anything is known that satisfies every row."""
        return self.found is not None

    def take(self, values: tuple[int, ...], held: int) -> None:  # noqa: ARG002 - for judges
        """Take the values that a search found while so many goals were held."""
        self.found = values

    def value(self, nth: int, goal: Goal) -> int:  # noqa: ARG002 - for judges
        """Return what the incumbent is worth on a goal, the nth of the descent."""
        return value_of(goal.expression, self.found or ())

    def proof(self, outcome: Outcome, value: int) -> Proof:
        """Return how a search proves that its goal is never below a value, which was reached."""
        if outcome.exact == value:
            return "exact"
        return "engine" if outcome.status == "optimal" else "open"


def one_by_one(*goals: Expression) -> Iterator[list[Goal]]:
    """Yield goals of which nothing is known, each to be searched by itself."""
    return ([Goal(goal)] for goal in goals)


def joined(goals: Iterable[Goal]) -> Iterator[list[Goal]]:
    """Yield neighbouring goals in groups, as many in one as a search can weigh exactly.

    The weight of a goal is one more than all that the later goals of its group could add, so the
    spans of a group multiply; SAFE bounds the product.
    """
    group: list[Goal] = []
    product = 1
    for goal in goals:
        product *= goal.high - goal.low + 1
        if product > SAFE and group:
            yield group
            group, product = [], goal.high - goal.low + 1
        group.append(goal)
    if group:
        yield group


def descend(
    program: Door,
    searches: Iterable[Sequence[Goal]],
    clock: Clock,
    incumbent: Incumbent | None = None,
) -> Descent:
    """Minimise goals in order until all are proved, or time is up, or Ctrl-C.

    Parameters
    ----------
    program
        A live program of either engine; it keeps the rows that hold the goals.
    searches
        The goals, the most important first, in groups that are searched together. A group is asked
        for when all goals before it are held.
    clock
        The time for all of the searches.
    incumbent
        The best known so far; at first nothing, unless one is given.

    Returns
    -------
    Descent
        The best found, and what is proved of every goal that was searched.

    Raises
    ------
    JudgeError
        Where the engine says that there is nothing after something was found.
    """
    best = incumbent or Incumbent()
    reached: list[GoalReached] = []
    status: Status = "optimal"
    try:
        for goals in searches:
            status = _searched(program, goals, clock, best, reached)
            if status != "optimal":
                break
    except KeyboardInterrupt:  # between two searches; during one the engine handles it
        clock.limits.watch.stop()
        status = "feasible" if best.known else "unknown"
    return Descent(status, best.found or (), tuple(reached))


def _searched(
    program: Door,
    goals: Sequence[Goal],
    clock: Clock,
    best: Incumbent,
    reached: list[GoalReached],
) -> Status:
    """Minimise a group of goals together, and hold each at its value where that is proved."""
    weights = _weights(goals)
    weighed = (scale(g.expression, w) for g, w in zip(goals, weights, strict=True))
    outcome = program.least(add(*weighed), clock)
    if outcome.status in ("optimal", "feasible"):
        best.take(outcome.values, len(reached))
    if not best.known:
        return outcome.status
    if outcome.status == "infeasible":
        raise JudgeError("the engine takes back what it has found")
    values = [best.value(len(reached) + nth, goal) for nth, goal in enumerate(goals)]
    proof = best.proof(outcome, sum(v * w for v, w in zip(values, weights, strict=True)))
    if proof == "open":
        reached.append(GoalReached(values[0], _bound(goals, weights, outcome, values[0]), proof))
        return "feasible"
    for goal, value in zip(goals, values, strict=True):
        program.row(goal.expression, None, value)
        reached.append(GoalReached(value, value, proof))
    return "optimal"


def _bound(goals: Sequence[Goal], weights: list[int], outcome: Outcome, value: int) -> int:
    """Return what a search proves of its first goal; a search without values proves the least."""
    if outcome.status == "unknown" and outcome.exact is None:
        return goals[0].low
    later = sum(goal.high * weight for goal, weight in zip(goals[1:], weights[1:], strict=True))
    return min(value, max(goals[0].low, -((later - outcome.bound) // weights[0])))


def _weights(goals: Sequence[Goal]) -> list[int]:
    weights: list[int] = []
    weight = 1
    for goal in reversed(goals):
        weights.append(weight)
        weight *= goal.high - goal.low + 1
    return weights[::-1]
