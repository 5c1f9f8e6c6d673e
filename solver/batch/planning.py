"""Plans a batch: minimises level after level, each with as much proof as there was time for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from solver.batch import judge
from solver.batch.columns import Listing, listing_of
from solver.batch.greedy import first_plan
from solver.batch.model import BatchModel
from solver.batch.objectives import Objectives
from solver.engines.highs import Highs
from solver.engines.limits import Clock, Limits, Outcome
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from solver.batch.instance import Batch
    from solver.engines.interface import Door
    from solver.problem.instance import Build

Proof = Literal["exact", "engine", "open"]
EMPTY = -(2**60)


@dataclass(frozen=True, slots=True)
class Reached:
    """The value reached on one level, and the proof of it."""

    value: int
    bound: int
    """A lower bound on the level's value, given the values of the levels before it."""
    proof: Proof
    """`exact`: an integer bound meets the value; `engine`: the engine's does; `open`: none does."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The build of each job of a batch, and the value of each level."""

    batch: Batch
    builds: tuple[Build | None, ...]
    reached: tuple[Reached, ...]
    """Every level in order; those after the first open one were not searched."""
    engine: str
    unbuildable: tuple[int, ...] = ()
    """Jobs that could not be completed from the whole stock even if no other job drew on it."""

    @property
    def proved(self) -> bool:
        """Whether no level is open."""
        return all(level.proof != "open" for level in self.reached)


def plan(
    batch: Batch, limits: Limits | None = None, door: Callable[[], Door] = Highs, depth: int = 99
) -> Plan:
    """Choose which jobs of a batch to complete and how, level by level.

    Parameters
    ----------
    batch
        The jobs and the stock they share.
    limits
        Seconds, workers and a watch.
    door
        Makes the engine; HiGHS by default.
    depth
        How many levels to bring down.

    Returns
    -------
    Plan
        What is built of each job; every level with its value, a bound and how it is proved.

    Raises
    ------
    JudgeError
        Where the engine's plan does not hold in plain integers.
    """
    clock = Clock(limits or Limits())
    listing = listing_of(batch)
    batch = _comparable(batch, listing)
    model = BatchModel(batch, listing, door())
    model.stock()
    descent = _Descent(batch, model, clock)
    descent.begin()
    for index in range(len(batch.levels[:depth])):
        if not descent.reached_level(index):
            break
    cannot = tuple(n for n in range(len(batch.jobs)) if not listing.can_complete(n))
    return Plan(batch, descent.builds, descent.reached(), model.program.name, cannot)


def _comparable(batch: Batch, listing: Listing) -> Batch:
    """Drop the earlier builds of gaps that are counted here: these cannot be compared."""
    jobs = []
    for job, parts in zip(batch.jobs, listing.parts, strict=True):
        counted = {
            gap.name for part, columns in parts if columns is None for gap in part.instance.gaps
        }
        known = {gap.name for gap in job.instance.gaps} - counted
        jobs.append(replace(job, kept={g: was for g, was in job.kept.items() if g in known}))
    return replace(batch, jobs=tuple(jobs))


class _Descent:
    """Minimises one level after the other, and keeps the best plan so far."""

    def __init__(self, batch: Batch, model: BatchModel, clock: Clock) -> None:
        self.batch = batch
        self.model = model
        self.levels = Objectives(model)
        self.clock = clock
        self.builds: tuple[Build | None, ...] = (None,) * len(batch.jobs)
        self.values = judge.values(batch, self.builds)
        self.judged: judge.Known = {}
        self.found: tuple[int, ...] = ()
        self.proofs: list[tuple[int, Proof]] = []

    def begin(self) -> None:
        """Start from the greedy plan, so that there is a plan at any time."""
        values = first_plan(self.model, self.levels)
        if values:
            self._take(0, Outcome("feasible", values, 0))

    def reached_level(self, index: int) -> bool:
        """Minimise one level, and return whether the next may be searched.

        The engine handles Ctrl-C while it runs; Ctrl-C between its runs ends the search here.
        """
        try:
            return self._level(index)
        except KeyboardInterrupt:
            self.clock.limits.watch.stop()
            return False

    def _level(self, index: int) -> bool:
        """Minimise one level and hold it; False where time ran out."""
        level = self.batch.levels[index]
        self.clock.limits.watch.words = f"{level.aim} ({index + 1} of {len(self.batch.levels)})"
        if not self.model.complete:  # nothing is left to choose
            self.proofs.append((self.values[index], "exact"))
            return True
        goal = self.levels.goal(index)
        if self.found:
            self.model.program.suggest(self.levels.settled(self.found))
        outcome = self.model.program.least(goal, self.clock)
        if outcome.status == "infeasible":
            raise JudgeError("the engine takes back a plan it has found")
        if outcome.values:
            self._take(index, outcome)
        value = self.values[index]
        bound = max(outcome.bound, EMPTY)
        if outcome.exact == value:
            self.proofs.append((value, "exact"))
        elif outcome.status == "optimal" and bound >= value:
            self.proofs.append((value, "engine"))
        else:
            self.proofs.append((min(bound, value), "open"))
            return False
        self.model.program.row(goal, None, value)
        return True

    def _take(self, index: int, outcome: Outcome) -> None:
        """Accept a plan of the engine once it is judged in integers."""
        builds = self.model.builds(outcome.values)
        wrong = judge.faults(self.batch, builds, self.judged)
        if wrong:
            raise JudgeError(f"the engine's plan is not allowed: {'; '.join(wrong)}")
        values = judge.values(self.batch, builds, self.judged)
        if values > self.values:
            if values[: index + 1] != self.values[: index + 1]:
                raise JudgeError(f"the engine takes {values} for better than {self.values}")
            return  # equal up to this level, and the plan before is better on a later one
        self.builds, self.values, self.found = builds, values, outcome.values

    def reached(self) -> tuple[Reached, ...]:
        """Return every level as it stands; one not searched is open, with no bound but 0."""
        proofs = [*self.proofs, *[(EMPTY, "open")] * (len(self.values) - len(self.proofs))]
        return tuple(
            Reached(value, max(bound, 0), proof)  # type: ignore[arg-type]
            for value, (bound, proof) in zip(self.values, proofs, strict=True)
        )
