"""A batch in one program: a column for each way to build a component, one chosen or none.

A job is complete when every component is built. Components whose columns are too many to list are
counted instead (`solver.counts`), all rows of theirs being empty while the job is not complete.
Pools that overlap, as units merge lots differently, are filled from their items by amounts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from solver.batch.columns import Lister
from solver.batch.components import components
from solver.batch.gated import Gated
from solver.batch.pools import contended, tied
from solver.batch.weighing import Weighing
from solver.conditions import PLENTY
from solver.counts import counts_block
from solver.engine import Expression, add, gather, scale
from solver.fills import TooManyError
from solver.model import Model
from specs.errors import JudgeError

if TYPE_CHECKING:
    from solver.batch.columns import Column
    from solver.batch.components import Component
    from solver.batch.door import Door
    from solver.batch.problem import Batch, Pool
    from solver.task import Build, GapBuild


@dataclass(slots=True)
class Part:
    """One component of a job in the program."""

    component: Component
    columns: list[Column] = field(default_factory=list)
    variables: list[int] = field(default_factory=list)
    counted: Model | None = None
    """Where its columns were too many."""


@dataclass(slots=True)
class Listing:
    """The components of every job with their columns; None for a component that is counted."""

    parts: list[list[tuple[Component, list[Column] | None]]]

    def can_complete(self, job: int) -> bool:
        """Whether every component of a job has a way to be built from the whole stock."""
        return all(columns is None or columns for _, columns in self.parts[job])


def listing_of(batch: Batch) -> Listing:
    """List the columns of every job, alike components once."""
    lister = Lister()

    def columns(component: Component) -> list[Column] | None:
        try:
            return lister.columns(component)
        except TooManyError:
            return None

    return Listing([[(c, columns(c)) for c in components(job.task)] for job in batch.jobs])


class BatchModel:
    """The rows of a batch, and its levels as expressions."""

    def __init__(self, batch: Batch, listing: Listing, program: Door) -> None:
        self.batch = batch
        self.program = program
        self.complete: dict[int, int] = {}
        """For each job that can be completed, whether it is."""
        self.parts: dict[int, list[Part]] = {}
        self.pools: dict[Pool, Expression] = {}
        self.worth: list[Expression] = [{} for _ in batch.levels]
        self.extra: dict[int, Expression] = {}
        """How many more of an item there are: what an order brings."""
        self.worst: dict[int, dict[int, list[Expression]]] = {}
        """For each level that is a job's worst, what every component of a job has of it."""
        self.weighing = Weighing(batch, contended(batch, listing.parts))
        for job in range(len(batch.jobs)):
            if not batch.jobs[job].held and listing.can_complete(job):
                self._job(job, listing)

    # Jobs.

    def _job(self, job: int, listing: Listing) -> None:
        done = self.complete[job] = self.program.boolean()
        own: dict[int, Expression] = {}
        self.parts[job] = []
        for component, columns in listing.parts[job]:
            part = Part(component)
            if columns is None:
                uses, values = self._counted(job, part, done)
            else:
                uses, values = self._listed(job, part, columns)
                self.program.row({**dict.fromkeys(part.variables, 1), done: -1}, 0, 0)
            self.parts[job].append(part)
            self._take(job, uses, own)
            for index, level in enumerate(self.batch.levels):
                expression = values.get(index, {})
                if level.worst:
                    self.worst.setdefault(index, {}).setdefault(job, []).append(expression)
                else:
                    gather(self.worth[index], expression)
        for choice, drawn in own.items():
            self.program.row(drawn, None, self.batch.jobs[job].task.choices[choice].count)

    def _take(self, job: int, uses: dict[int, Expression], own: dict[int, Expression]) -> None:
        for choice, drawn in uses.items():
            if self.batch.jobs[job].task.choices[choice].own:
                own[choice] = add(own.get(choice, {}), drawn)
            else:
                gather(self.pools.setdefault(self.batch.pools[job][choice], {}), drawn)

    def _listed(
        self, job: int, part: Part, columns: list[Column]
    ) -> tuple[dict[int, Expression], dict[int, Expression]]:
        values, kept = self.weighing.weighed(job, part.component, columns)
        part.columns = [columns[nth] for nth in kept]
        part.variables = [self.program.boolean() for _ in kept]
        uses: dict[int, Expression] = {}
        worth: dict[int, Expression] = {}
        for variable, nth in zip(part.variables, kept, strict=True):
            for choice, count in columns[nth].uses:
                uses.setdefault(choice, {})[variable] = count
            for index, value in enumerate(values[nth]):
                if value:
                    worth.setdefault(index, {})[variable] = value
        return uses, worth

    def _counted(
        self, job: int, part: Part, done: int
    ) -> tuple[dict[int, Expression], dict[int, Expression]]:
        program = Gated(self.program, done)
        task = part.component.task
        blocks = [counts_block(task, gap, program) for gap in task.gaps]
        part.counted = model = Model(task, program, blocks)
        goals = {level: model.goal(nth) for nth, level in enumerate(task.levels)}
        worth = {
            index: scale(program.opened(goals[level].expression), self.batch.scale(job, level))
            for index, level in enumerate(self.batch.levels)
            if level in goals and level.measure != "scarce"
        }
        for index, level in enumerate(self.batch.levels):
            if level.measure == "kept":
                worth[index] = {}  # what is counted is not compared with an earlier plan
        return {c: program.opened(e) for c, e in model.drawn.items() if e}, worth

    # Stock.

    def stock(self) -> None:
        """No more of an item than there are, over all jobs."""
        for atoms, pools in tied(self.pools):
            if len(atoms) == 1 and len(pools) == 1:
                (items,), (pool,) = atoms, pools
                self._limit(self.pools[pool], items)
            else:
                self._filled(atoms, pools)

    def _most(self, items: Pool) -> int:
        """No more of some items can ever be drawn."""
        count = sum(self.batch.items[item].count for item in items)
        return count + (PLENTY * len(self.batch.jobs) if self.extra.keys() & items else 0)

    def _limit(self, drawn: Expression, items: Pool) -> None:
        count = sum(self.batch.items[item].count for item in items)
        more = [scale(self.extra[item], -1) for item in items if item in self.extra]
        self.program.row(add(drawn, *more), None, count)

    def _filled(self, atoms: list[Pool], pools: list[Pool]) -> None:
        """Every pool is filled by amounts from the items it stands for."""
        drawn: dict[Pool, Expression] = {atom: {} for atom in atoms}
        for pool in pools:
            amounts = {a: self.program.amount(0, self._most(a)) for a in atoms if a <= pool}
            taken = dict.fromkeys(amounts.values(), -1)
            self.program.row(add(self.pools[pool], taken), 0, 0)
            for atom, amount in amounts.items():
                drawn[atom][amount] = 1
        for atom, expression in drawn.items():
            self._limit(expression, atom)

    # Reading a plan.

    def builds(self, values: tuple[int, ...]) -> tuple[Build | None, ...]:
        """What every job is built of; None for a job that is not complete."""
        return tuple(self._build(job, values) for job in range(len(self.batch.jobs)))

    def _build(self, job: int, values: tuple[int, ...]) -> Build | None:
        if job not in self.complete or not values[self.complete[job]]:
            return None
        found: dict[int, GapBuild] = {}
        for part in self.parts[job]:
            if part.counted is not None:
                build = part.counted.read(values)
            else:
                chosen = zip(part.variables, part.columns, strict=True)
                build = next((one.build for x, one in chosen if values[x]), ())
                if len(build) != len(part.component.gaps):
                    raise JudgeError("the engine completes a job and leaves out a gap")
            found |= dict(zip(part.component.gaps, build, strict=True))
        return tuple(found[gap] for gap in sorted(found))
