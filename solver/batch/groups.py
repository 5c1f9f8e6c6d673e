"""Groups components that are alike over all jobs, so that the program counts them together.

A shop has many gaps of one shape and one space. They have the same columns and draw on the same
stock, so a program need not say which of them is built how, only how many are built by each column.
A group of n components has one integer variable for every column in place of n booleans. The
columns are dealt out to the jobs afterwards.

The worst value of a job ties its components, and dealing must respect it. That is exact where all
columns of a job stand in one order on every level of a worst value: then a job that may hold a
worse column may hold every better one. Each of the following components stands for itself, a group
of one: those of a job without such an order or with a counted component, and those that could take
the same part of the job's own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from solver.builds.dominance import undominated
from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.batch.column_costs import Weighing
    from solver.batch.columns import ComponentBuild, Listing
    from solver.batch.components import Component

Grade = tuple[int, ...]
"""A column's value on every level that is a job's worst value."""


@dataclass(slots=True)
class Group:
    """Components that are alike, with their columns and variables."""

    component: Component
    """One of them, as an example."""
    columns: list[ComponentBuild]
    values: list[tuple[int, ...]]
    """For each column, its value on every level."""
    grades: list[Grade]
    own: frozenset[int]
    """The choices that belong to each job alone and that some column takes."""
    members: list[int] = field(default_factory=list)
    """The job of each component; a job with two such components is listed twice."""
    variables: list[int] = field(default_factory=list)
    """For each column, the variable that counts the components built by it."""

    @property
    def alone(self) -> bool:
        """Whether the group has one component only."""
        return len(self.members) == 1

    def dealt(
        self, values: tuple[int, ...], complete: Mapping[int, int], limits: Mapping[int, Grade]
    ) -> list[int | None]:
        """Deal the chosen columns out, the worst of them to the members that may hold them.

        Parameters
        ----------
        values
            A value for each variable of the program.
        complete
            For each job, the variable that says whether it is completed.
        limits
            For each job that has one, the grade its columns must stay below.

        Returns
        -------
        list of int or None
            For each member the number of its column; None where its job is not completed.

        Raises
        ------
        JudgeError
            Where the number of columns differs from the number of members to be built.
        """
        columns = [nth for nth, x in enumerate(self.variables) for _ in range(values[x])]
        columns.sort(key=lambda nth: self.grades[nth], reverse=True)
        seats = [seat for seat, job in enumerate(self.members) if values[complete[job]]]
        if len(columns) != len(seats):
            raise JudgeError("the engine completes a job and leaves out a gap")
        free = [seat for seat in seats if self.members[seat] not in limits]
        bound = [seat for seat in seats if self.members[seat] in limits]
        bound.sort(key=lambda seat: limits[self.members[seat]], reverse=True)
        found = dict(zip([*free, *bound], columns, strict=True))
        return [found.get(seat) for seat in range(len(self.members))]


class Grouping:
    """Puts the components of jobs into groups.

    Parameters
    ----------
    weighing
        Values the columns, of which those are kept that no other replaces.
    listing
        The components of every job with their columns.
    """

    def __init__(self, weighing: Weighing, listing: Listing) -> None:
        self.weighing = weighing
        self.listing = listing
        self.worst = [n for n, level in enumerate(weighing.batch.levels) if level.worst]
        self._known: dict[object, Group] = {}

    def of(self, job: int) -> list[Group | None]:
        """Return the group of each of a job's components; None for one that is counted."""
        mine = [
            None if columns is None else self._weighed(job, component, columns)
            for component, columns in self.listing.parts[job]
        ]
        orderly = None not in mine and _in_one_order(grade for g in mine if g for grade in g.grades)
        own = Counter(choice for group in mine if group for choice in group.own)
        tied = {choice for choice, components in own.items() if components > 1}
        return [
            group and (group if orderly and not group.own & tied else self._apart(group))
            for group in mine
        ]

    def _weighed(self, job: int, component: Component, columns: list[ComponentBuild]) -> Group:
        """Return the group of all components that are alike, making it where it is new."""
        key = self.weighing.key(job, component, columns)
        if key not in self._known:
            values = self.weighing.values(job, component, columns)
            kept = self._kept(job, columns, values)
            choices = self.weighing.batch.jobs[job].instance.choices
            taken = {choice for nth in kept for choice, _ in columns[nth].uses}
            self._known[key] = Group(
                component,
                [columns[nth] for nth in kept],
                [values[nth] for nth in kept],
                [tuple(values[nth][level] for level in self.worst) for nth in kept],
                frozenset(choice for choice in taken if choices[choice].own),
            )
        return self._known[key]

    def _kept(
        self, job: int, columns: list[ComponentBuild], values: list[tuple[int, ...]]
    ) -> list[int]:
        """Return the columns that no other replaces in any plan."""
        weighed = self.weighing.weighed(job, columns, values)
        return undominated(weighed, self.weighing.batch.levels)

    def _apart(self, group: Group) -> Group:
        return replace(group, members=[], variables=[])


def _in_one_order(grades: Iterable[Grade]) -> bool:
    """Return whether, of any two grades, one is no worse than the other on every level."""
    return all(
        a <= b
        for one, other in pairwise(sorted({*grades}))
        for a, b in zip(one, other, strict=True)
    )
