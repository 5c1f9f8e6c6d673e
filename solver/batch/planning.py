"""The plan of a batch: level after level, each proved as far as there was time."""

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
    """How far one level was brought down."""

    value: int
    bound: int
    """It cannot be below this while the levels before it are held."""
    proof: Proof
    """exact: the bound in whole numbers meets it. engine: the engine's own does. open: none."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What is built of each job, and how good that is."""

    batch: Batch
    builds: tuple[Build | None, ...]
    reached: tuple[Reached, ...]
    """Every level in order; those after the first open one were not searched."""
    engine: str
    unbuildable: tuple[int, ...] = ()
    """Jobs that the whole stock could not complete, though no other job drew on it."""

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
    """Forget what an earlier plan built of gaps that are counted here, not listed."""
    jobs = []
    for job, parts in zip(batch.jobs, listing.parts, strict=True):
        counted = {
            gap.name for part, columns in parts if columns is None for gap in part.instance.gaps
        }
        known = {gap.name for gap in job.instance.gaps} - counted
        jobs.append(replace(job, kept={g: was for g, was in job.kept.items() if g in known}))
    return replace(batch, jobs=tuple(jobs))


class _Descent:
    """Brings levels down one after the other."""

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
        """Begin with a plan that is quickly had, so that there is one at any time."""
        values = first_plan(self.model, self.levels)
        if values:
            self._take(0, Outcome("feasible", values, 0))

    def reached_level(self, index: int) -> bool:
        """Bring one level down; Ctrl-C outside the engine, which hears it itself, ends it too."""
        try:
            return self._level(index)
        except KeyboardInterrupt:
            self.clock.limits.watch.stop()
            return False

    def _level(self, index: int) -> bool:
        """Bring one level down and hold it; False where time ran out."""
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
        """Take a plan only after it was judged in plain integers."""
        builds = self.model.builds(outcome.values)
        wrong = judge.faults(self.batch, builds, self.judged)
        if wrong:
            raise JudgeError(f"the engine's plan is not allowed: {'; '.join(wrong)}")
        values = judge.values(self.batch, builds, self.judged)
        if values > self.values:
            if values[: index + 1] != self.values[: index + 1]:
                raise JudgeError(f"the engine takes {values} for better than {self.values}")
            return  # as good so far, and the plan before it happens to be better later on
        self.builds, self.values, self.found = builds, values, outcome.values

    def reached(self) -> tuple[Reached, ...]:
        """Every level as it stands; what was not searched is open and bounded by nothing."""
        proofs = [*self.proofs, *[(EMPTY, "open")] * (len(self.values) - len(self.proofs))]
        return tuple(
            Reached(value, max(bound, 0), proof)  # type: ignore[arg-type]
            for value, (bound, proof) in zip(self.values, proofs, strict=True)
        )
