"""States a batch as one integer program.

Each component has a column for each way to build it, of which one or none is chosen. A job is
complete when every component is built. Components with too many columns to list are counted
instead (`solver.builds.counts`); all their rows are empty while the job is not complete. Pools
overlap where units merge lots differently; variables then say how much of a pool comes from which
items.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from solver.batch.column_costs import Weighing
from solver.batch.groups import Grouping
from solver.batch.pools import contended, tied
from solver.batch.thresholds import Thresholds
from solver.builds.counts import counts_block
from solver.engines.cp_sat import Program
from solver.engines.expressions import CONSTANT, Expression, add, gather, scale
from solver.explain.conditions import PLENTY
from solver.problem.aims import Scarcity
from solver.rebuild.model import Model

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from solver.batch.columns import Listing
    from solver.batch.components import Component
    from solver.batch.groups import Group
    from solver.batch.instance import Batch, Pool
    from solver.engines.interface import Door
    from solver.problem.instance import Build, GapBuild


@dataclass(slots=True)
class ComponentRows:
    """One component of a job in the program."""

    component: Component
    group: Group | None = None
    """The group of components alike; None where its columns were too many to list."""
    seat: int = 0
    """Its index among the members of its group."""
    counted: Model | None = None
    level_values: dict[int, Expression] = field(default_factory=dict)
    """Its value on every level, where it is counted."""


class BatchModel:
    """The variables and rows of a batch, and its levels as linear expressions.

    Parameters
    ----------
    batch
        The jobs and their stock.
    listing
        The components of every job with their columns.
    program
        The engine, which receives the variables and rows. The rows on stock are added by `stock`.
    """

    def __init__(self, batch: Batch, listing: Listing, program: Door) -> None:
        self.batch = batch
        self.program = program
        self.complete: dict[int, int] = {}
        """For each job that can be completed, the variable that says whether it is."""
        self.parts: dict[int, list[ComponentRows]] = {}
        self.pools: dict[Pool, Expression] = {}
        self.level_values: list[Expression] = [{} for _ in batch.levels]
        self.extra: dict[int, Expression] = {}
        """The number of parts that an order adds to an item."""
        self.own: dict[int, dict[int, Expression]] = {}
        """The number of its own parts that a job takes, by choice."""
        self.groups: list[Group] = []
        self.weighing = Weighing(batch, contended(batch, listing.parts))
        free = [n for n, job in enumerate(batch.jobs) if not job.held and listing.can_complete(n)]
        grouping = Grouping(self.weighing, listing)
        for job in free:
            self.complete[job] = program.boolean()
            self.parts[job] = self._parts(job, listing, grouping.of(job))
        for group in self.groups:
            self._group(group)
        for job in free:
            self._job(job)
        self.thresholds = Thresholds(program, self.groups, self.complete)

    # Jobs.

    def _parts(self, job: int, listing: Listing, groups: list[Group | None]) -> list[ComponentRows]:
        parts = []
        for (component, _), group in zip(listing.parts[job], groups, strict=True):
            parts.append(ComponentRows(component, group))
            if group:
                parts[-1].seat = len(group.members)
                if not group.members:
                    self.groups.append(group)
                group.members.append(job)
        return parts

    def _group(self, group: Group) -> None:
        """Add rows so that as many columns are chosen as there are members of complete jobs."""
        program, job, most = self.program, group.members[0], len(group.members)
        group.variables = [program.integer(0, most) for _ in group.columns]
        built = Counter(self.complete[member] for member in group.members)
        chosen = dict.fromkeys(group.variables, 1)
        program.row({**chosen, **{done: -count for done, count in built.items()}}, 0, 0)
        uses: dict[int, Expression] = {}
        columns = zip(group.variables, group.columns, group.values, strict=True)
        for variable, column, values in columns:
            for choice, count in column.uses:
                uses.setdefault(choice, {})[variable] = count
            for index, value in enumerate(values):
                if value and not self.batch.levels[index].worst:
                    gather(self.level_values[index], {variable: value})
        if not group.alone:  # their jobs' own parts suffice for any of their columns
            uses = {choice: drawn for choice, drawn in uses.items() if choice not in group.own}
        self._take(job, uses)

    def _job(self, job: int) -> None:
        """Add a job's counted components, and limit its own parts to their number."""
        for part in self.parts[job]:
            if part.group is None:
                self._take(job, self._counted(job, part, self.complete[job]))
                for index, expression in part.level_values.items():
                    if not self.batch.levels[index].worst:
                        gather(self.level_values[index], expression)
        for choice, drawn in self.own.pop(job, {}).items():
            self.program.row(drawn, None, self.batch.jobs[job].instance.choices[choice].count)

    def listed(self) -> Iterator[tuple[int, list[Group]]]:
        """Yield each job without a counted component, with the groups of its components."""
        for job, parts in self.parts.items():
            groups = [part.group for part in parts if part.group]
            if len(groups) == len(parts):
                yield job, groups

    def worst_of(self, job: int, index: int) -> list[Expression]:
        """Return each component's value on a level that is its job's worst value."""
        return [
            {
                variable: values[index]
                for variable, values in zip(part.group.variables, part.group.values, strict=True)
            }
            if part.group
            else part.level_values.get(index, {})
            for part in self.parts[job]
        ]

    def _take(self, job: int, uses: dict[int, Expression]) -> None:
        for choice, drawn in uses.items():
            if self.batch.jobs[job].instance.choices[choice].own:
                gather(self.own.setdefault(job, {}).setdefault(choice, {}), drawn)
            else:
                gather(self.pools.setdefault(self.batch.pools[job][choice], {}), drawn)

    def _counted(self, job: int, part: ComponentRows, done: int) -> dict[int, Expression]:
        program = Indicator(self.program, done)
        instance = part.component.instance
        blocks = [counts_block(instance, gap, program) for gap in instance.gaps]
        part.counted = model = Model(instance, program, blocks)
        goals = {level: model.goal(nth) for nth, level in enumerate(instance.levels)}
        part.level_values = {
            index: scale(program.opened(goals[level].expression), self.batch.scale(job, level))
            for index, level in enumerate(self.batch.levels)
            if level in goals and not isinstance(level.counts, Scarcity)
        }
        return {c: program.opened(e) for c, e in model.drawn.items() if e}

    # Stock.

    def stock(self) -> None:
        """Add the rows that limit the draws of all jobs to the stock of every item."""
        for atoms, pools in tied(self.pools):
            if len(atoms) == 1 and len(pools) == 1:
                (items,), (pool,) = atoms, pools
                self._limit(self.pools[pool], items)
            else:
                self._filled(atoms, pools)

    def _most(self, items: Pool) -> int:
        """Return an upper bound on the number of parts that can be drawn of some items."""
        count = sum(self.batch.items[item].count for item in items)
        return count + (PLENTY * len(self.batch.jobs) if self.extra.keys() & items else 0)

    def _limit(self, drawn: Expression, items: Pool) -> None:
        count = sum(self.batch.items[item].count for item in items)
        more = [scale(self.extra[item], -1) for item in items if item in self.extra]
        self.program.row(add(drawn, *more), None, count)

    def _filled(self, atoms: list[Pool], pools: list[Pool]) -> None:
        """Add variables for the amounts that pools take from their atoms, and limit their sums."""
        drawn: dict[Pool, Expression] = {atom: {} for atom in atoms}
        for pool in pools:
            amounts = {a: self.program.amount(0, self._most(a)) for a in atoms if a <= pool}
            taken = dict.fromkeys(amounts.values(), -1)
            self.program.row(add(self.pools[pool], taken), 0, 0)
            for atom, amount in amounts.items():
                drawn[atom][amount] = 1
        for atom, expression in drawn.items():
            self._limit(expression, atom)

    # Plans.

    def dealt(self, values: tuple[int, ...]) -> dict[int, list[tuple[Group, int]]]:
        """Deal the chosen columns out to the complete jobs.

        Parameters
        ----------
        values
            A value for each variable of the program.

        Returns
        -------
        dict of list
            For each job the groups of its components in order, each with the number of its column.
        """
        limits = self.thresholds.limits(values)
        seats = {id(group): group.dealt(values, self.complete, limits) for group in self.groups}
        return {
            job: [
                (part.group, nth)
                for part in parts
                if part.group and (nth := seats[id(part.group)][part.seat]) is not None
            ]
            for job, parts in self.parts.items()
        }

    def builds(self, values: tuple[int, ...]) -> tuple[Build | None, ...]:
        """Read the build of every job from the variables' values; None where it is not complete."""
        dealt = self.dealt(values)
        return tuple(
            self._build(job, values, dealt[job])
            if job in self.complete and values[self.complete[job]]
            else None
            for job in range(len(self.batch.jobs))
        )

    def _build(self, job: int, values: tuple[int, ...], dealt: list[tuple[Group, int]]) -> Build:
        found: dict[int, GapBuild] = {}
        columns = iter(dealt)
        for part in self.parts[job]:
            if part.counted is not None:
                build = part.counted.read(values)
            else:
                group, nth = next(columns)
                build = group.columns[nth].build
            found |= dict(zip(part.component.gaps, build, strict=True))
        return tuple(found[gap] for gap in sorted(found))


class Indicator(Program):
    """Passes columns and rows on to another program, each constant multiplied by a gate.

    Parameters
    ----------
    door
        The program that receives the columns and rows.
    gate
        Its boolean that is 1 while the job is built.
    """

    def __init__(self, door: Door, gate: int) -> None:
        self.door = door
        self.gate = gate

    def opened(self, expression: Mapping[int, int]) -> Expression:
        """Return an expression whose constant counts only while the gate is 1."""
        found = {variable: factor for variable, factor in expression.items() if variable >= 0}
        constant = expression.get(CONSTANT, 0)
        if constant:
            found[self.gate] = found.get(self.gate, 0) + constant
        return found

    def boolean(self) -> int:
        """Add a column that is 0 or 1, and return its index."""
        return self.door.boolean()

    def integer(self, low: int, high: int) -> int:
        """Add an integer column; it must be allowed to be 0, as it is while the gate is 0."""
        return self.door.integer(low, high)

    def one_of(self, variables: Iterable[int]) -> None:
        """Add the constraint that one of some booleans is true while the gate is 1, else none."""
        self.door.row({**dict.fromkeys(variables, 1), self.gate: -1}, 0, 0)

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Add the constraint that an expression lies between two bounds while the gate is 1."""
        opened = self.opened(expression)
        if low is not None and low == high:
            self.door.row(self._less(opened, low), 0, 0)
            return
        if low is not None:
            self.door.row(self._less(opened, low) if low > 0 else opened, min(low, 0), None)
        if high is not None:
            self.door.row(self._less(opened, high) if high < 0 else opened, None, max(high, 0))

    def _less(self, opened: Expression, amount: int) -> Expression:
        return {**opened, self.gate: opened.get(self.gate, 0) - amount}
