"""A batch in one program: a column for each way to build a component, one chosen or none.

A job is complete when every component is built. Components whose columns are too many to list are
counted instead (`solver.counts`), all rows of theirs being empty while the job is not complete.
Pools that overlap, as units merge lots differently, are filled from their items by amounts.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from solver.batch.columns import Lister
from solver.batch.components import components
from solver.batch.gated import Gated
from solver.batch.pools import contended, tied
from solver.batch.earlier import differing
from solver.batch.thinning import Weighed, kept
from solver.conditions import PLENTY
from solver.counts import counts_block
from solver.engine import CONSTANT, Expression, add, scale, value_of
from solver.fills import TooManyError
from solver.model import Model
from solver.task import RATIO, GapBuild

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.batch.columns import Column
    from solver.batch.components import Component
    from solver.batch.problem import Batch, Pool
    from solver.batch.door import Door
    from solver.task import Build, Level


MOST_PARTS = 2  # what is counted may pass its own value while a search goes on


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
        self.tops: dict[int, list[Expression]] = {}
        """Amounts that are the greatest of some expressions."""
        self.steps: list[tuple[Expression, list[tuple[int, int]]]] = []
        """Expressions that fill amounts in turn, each up to its own most."""
        scarce = contended(batch, listing.parts)
        self._thinned: dict[object, list[int]] = {}
        for job in range(len(batch.jobs)):
            if not batch.jobs[job].held and listing.can_complete(job):
                self._job(job, listing, scarce)

    # Jobs.

    def _job(self, job: int, listing: Listing, scarce: frozenset[Pool]) -> None:
        done = self.complete[job] = self.program.boolean()
        own: dict[int, Expression] = {}
        self.parts[job] = []
        for component, columns in listing.parts[job]:
            part = Part(component)
            if columns is None:
                uses, values = self._counted(job, part, done)
            else:
                uses, values = self._listed(job, part, columns, scarce)
                self.program.row({**dict.fromkeys(part.variables, 1), done: -1}, 0, 0)
            self.parts[job].append(part)
            self._take(job, uses, own)
            for index, level in enumerate(self.batch.levels):
                expression = values.get(index, {})
                if level.worst:
                    self.worst.setdefault(index, {}).setdefault(job, []).append(expression)
                else:
                    self._add(self.worth[index], expression)
        for choice, drawn in own.items():
            self.program.row(drawn, None, self.batch.jobs[job].task.choices[choice].count)

    def _take(self, job: int, uses: dict[int, Expression], own: dict[int, Expression]) -> None:
        for choice, drawn in uses.items():
            if self.batch.jobs[job].task.choices[choice].own:
                own[choice] = add(own.get(choice, {}), drawn)
            else:
                self._add(self.pools.setdefault(self.batch.pools[job][choice], {}), drawn)

    @staticmethod
    def _add(total: Expression, more: Expression) -> None:
        for variable, factor in more.items():
            if factor:
                total[variable] = total.get(variable, 0) + factor

    def _listed(
        self, job: int, part: Part, columns: list[Column], scarce: frozenset[Pool]
    ) -> tuple[dict[int, Expression], dict[int, Expression]]:
        values = [self._values(job, part.component, column) for column in columns]
        for nth in self._kept(job, columns, values, scarce):
            part.columns.append(columns[nth])
            part.variables.append(self.program.boolean())
        uses: dict[int, Expression] = {}
        worth: dict[int, Expression] = {}
        keep = {id(column): nth for nth, column in enumerate(columns)}
        for variable, column in zip(part.variables, part.columns, strict=True):
            for choice, count in column.uses:
                uses.setdefault(choice, {})[variable] = count
            for index, value in enumerate(values[keep[id(column)]]):
                if value:
                    worth.setdefault(index, {})[variable] = value
        return uses, worth

    def _values(self, job: int, component: Component, column: Column) -> tuple[int, ...]:
        """A column's values on the levels of the batch, those on totals apart."""
        mine = {level: nth for nth, level in enumerate(component.task.levels)}
        found = []
        for level in self.batch.levels:
            nth = mine.get(level)
            if level.measure == "kept":
                found.append(differing(self.batch, job, component, column.build))
            elif nth is None or level.measure == "scarce":
                found.append(0)
            else:
                found.append(column.values[nth] * self.batch.scale(job, level))
        return tuple(found)

    def _kept(
        self, job: int, columns: list[Column], values: list[tuple[int, ...]],
        scarce: frozenset[Pool],
    ) -> list[int]:  # fmt: skip
        pools = self.batch.pools[job]
        choices = self.batch.jobs[job].task.choices
        key = (id(columns), pools if not self.batch.jobs[job].kept else job)
        if key in self._thinned:
            return self._thinned[key]
        counted = sorted({c for column in columns for c, _ in column.uses})
        watched = [c for c in counted if choices[c].own or pools[c] in scarce]
        sizes = sorted({(choices[c].family, choices[c].size) for c in counted if not choices[c].own})

        def takes(column: Column) -> tuple[int, ...]:
            uses = dict(column.uses)
            totals = Counter[tuple[str, str]]()
            for choice, count in column.uses:
                if not choices[choice].own:
                    totals[choices[choice].family, choices[choice].size] += count
            cost = sum((choices[c].price or 0) * n for c, n in column.uses if not choices[c].own)
            return (*(uses.get(c, 0) for c in watched), *(totals[size] for size in sizes), cost)

        weighed = [Weighed(takes(c), v) for c, v in zip(columns, values, strict=True)]
        self._thinned[key] = kept(weighed, [level.worst for level in self.batch.levels])
        return self._thinned[key]

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

    # Levels.

    def goal(self, index: int) -> Expression:
        """What a level makes least."""
        level, jobs = self.batch.levels[index], self.batch.jobs
        match level.measure:
            case "pinned":
                weights = [int(job.pinned) for job in jobs]
            case "priority":
                weights = [job.priority for job in jobs]
            case "number":
                weights = [1] * len(jobs)
            case "kept":
                weights = [len(job.kept) for job in jobs]
            case "scarce":
                return self._scarce()
            case "cost":
                return self._cost()
            case _ if level.worst:
                return self._worst(index)
            case _:
                return self.worth[index]
        left = {variable: -weights[job] for job, variable in self.complete.items() if weights[job]}
        return add({CONSTANT: sum(weights)}, left, self.worth[index])

    def drawn(self, size: tuple[str, str]) -> Expression:
        """How many of a size all jobs draw from the stock."""
        mine = frozenset(self.batch.sizes[size])
        total: Expression = {}
        for pool, expression in self.pools.items():
            if pool <= mine:
                self._add(total, expression)
        return total

    def _worst(self, index: int) -> Expression:
        """The worst of every job, added up."""
        total: Expression = {}
        for job, expressions in self.worst.get(index, {}).items():
            listed = all(part.counted is None for part in self.parts[job])
            self._add(total, self._stairs(job, expressions) if listed else self._top(expressions))
        return total

    def _top(self, expressions: list[Expression]) -> Expression:
        """No less than any of some expressions."""
        most = sum(abs(f) for expression in expressions for f in expression.values())
        top = self.program.amount(0, most * MOST_PARTS)
        self.tops[top] = expressions
        for expression in expressions:
            self.program.row(add({top: 1}, scale(expression, -1)), 0, None)
        return {top: 1}

    def _stairs(self, job: int, expressions: list[Expression]) -> Expression:
        """The worst of a job's columns, as stairs: tighter than one number over all of them.

        A stair is taken where any component holds a column of at least its height.
        """
        shut = self.program.shut
        heights = [
            {x: expression.get(x, 0) for x in part.variables if not shut(x)}
            for part, expression in zip(self.parts[job], expressions, strict=True)
        ]
        floor = max((min(each.values(), default=0) for each in heights), default=0)
        total: Expression = {self.complete[job]: floor} if floor else {}
        for height in sorted({h for each in heights for h in each.values() if h > floor}):
            over = [{x: 1 for x, h in each.items() if h >= height} for each in heights]
            over = [expression for expression in over if expression]
            if len(over) == 1:
                self._add(total, scale(over[0], height - floor))
            else:
                stair = self.program.amount(0, 1)
                self.tops[stair] = over
                for expression in over:
                    self.program.row(add({stair: 1}, scale(expression, -1)), 0, None)
                total[stair] = height - floor
            floor = height
        return total

    def _scarce(self) -> Expression:
        total: Expression = {}
        for size, items in self.batch.sizes.items():
            on_hand = sum(self.batch.items[item].count for item in items)
            drawn = self.drawn(size)
            if not drawn or not on_hand:
                continue
            steps = steps_of(on_hand)
            amounts = [self.program.amount(0, many) for _, many in steps]
            self.program.row(add(drawn, dict.fromkeys(amounts, -1)), None, 0)
            self.steps.append((drawn, [(a, most) for a, (_, most) in zip(amounts, steps)]))
            for amount, (cost, _) in zip(amounts, steps, strict=True):
                total[amount] = cost
        return total

    def _cost(self) -> Expression:
        total: Expression = {}
        for size, items in self.batch.sizes.items():
            price = self.batch.items[items[0]].price
            if price:
                self._add(total, scale(self.drawn(size), price))
        return total

    # Reading a plan.

    def settled(self, values: tuple[int, ...]) -> tuple[int, ...]:
        """The values with every worst and every step no greater than it must be."""
        found = [*values, *[0] * (self.program.columns - len(values))]
        for top, expressions in self.tops.items():
            found[top] = max(value_of(expression, values) for expression in expressions)
        for drawn, amounts in self.steps:
            left = value_of(drawn, tuple(found))
            for amount, most in amounts:
                found[amount] = min(left, most)
                left -= found[amount]
        return tuple(found)

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
                build = next(column.build for variable, column in chosen if values[variable])
            found |= dict(zip(part.component.gaps, build, strict=True))
        return tuple(found[gap] for gap in sorted(found))


def steps_of(on_hand: int) -> list[tuple[int, int]]:
    """What the parts of a size cost as they grow scarce, with how many cost so much."""
    costs = Counter(RATIO // (on_hand - nth) for nth in range(on_hand))
    return sorted(costs.items())
