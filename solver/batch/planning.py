"""Plans a batch: minimises level after level, each with as much proof as there was time for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.batch import judge
from solver.batch.columns import Listing, listing_of
from solver.batch.greedy import first_plan
from solver.batch.model import BatchModel
from solver.batch.objectives import Objectives
from solver.engines.descent import Goal, GoalReached, Incumbent, descend
from solver.engines.highs import Highs
from solver.engines.limits import Clock, Limits
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from solver.batch.instance import Batch
    from solver.engines.descent import Proof
    from solver.engines.interface import Door
    from solver.engines.limits import Outcome
    from solver.problem.instance import Build


@dataclass(frozen=True, slots=True)
class Plan:
    """The build of each job of a batch, and the value of each level."""

    batch: Batch
    builds: tuple[Build | None, ...]
    reached: tuple[GoalReached, ...]
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
    best = _JudgedPlan(batch, model)
    reached = _reached(best, clock, len(batch.levels[:depth]))
    cannot = tuple(n for n in range(len(batch.jobs)) if not listing.can_complete(n))
    return Plan(batch, best.builds, reached, model.program.name, cannot)


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


def _reached(best: _JudgedPlan, clock: Clock, depth: int) -> tuple[GoalReached, ...]:
    """Bring levels down, and return all of them; one not searched is open, with no bound but 0."""
    if best.model.complete:
        reached = descend(best.model.program, best.searches(clock, depth), clock, best).reached
    else:  # nothing is left to choose
        reached = tuple(GoalReached(value, value, "exact") for value in best.values[:depth])
    others = best.values[len(reached) :]
    return reached + tuple(GoalReached(value, 0, "open") for value in others)


class _JudgedPlan(Incumbent):
    """The best plan so far; at first the greedy one, so that there is a plan at any time."""

    def __init__(self, batch: Batch, model: BatchModel) -> None:
        super().__init__()
        self.batch = batch
        self.model = model
        self.levels = Objectives(model)
        self.builds: tuple[Build | None, ...] = (None,) * len(batch.jobs)
        self.values = judge.values(batch, self.builds)
        self.judged: judge.Known = {}
        greedy = first_plan(model, self.levels)
        if greedy:
            self.take(greedy, 0)

    @property
    def known(self) -> bool:
        """Whether a plan is known; that which builds nothing always is."""
        return True

    def searches(self, clock: Clock, depth: int) -> Iterator[list[Goal]]:
        """Yield the levels one by one, each put into the program when its turn comes."""
        for index, level in enumerate(self.batch.levels[:depth]):
            clock.limits.watch.words = f"{level.aim} ({index + 1} of {len(self.batch.levels)})"
            goal = Goal(self.levels.goal(index), low=0)
            if self.found:
                self.model.program.suggest(self.levels.settled(self.found))
            yield [goal]

    def take(self, values: tuple[int, ...], held: int) -> None:
        """Accept a plan of the engine once it is judged in integers."""
        builds = self.model.builds(values)
        wrong = judge.faults(self.batch, builds, self.judged)
        if wrong:
            raise JudgeError(f"the engine's plan is not allowed: {'; '.join(wrong)}")
        judged = judge.values(self.batch, builds, self.judged)
        if judged > self.values:
            if judged[: held + 1] != self.values[: held + 1]:
                raise JudgeError(f"the engine takes {judged} for better than {self.values}")
            return  # equal up to this level, and the plan before is better on a later one
        self.builds, self.values, self.found = builds, judged, values

    def value(self, nth: int, goal: Goal) -> int:  # noqa: ARG002 - the judge knows it
        """Return what the plan is worth on a level, by the judge."""
        return self.values[nth]

    def proof(self, outcome: Outcome, value: int) -> Proof:
        """Return how a level is proved; a bound must meet what the judge says of the plan."""
        proof = super().proof(outcome, value)
        return "open" if proof == "engine" and outcome.bound < value else proof
