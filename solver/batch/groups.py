"""Components that are alike over all jobs, counted together.

A floor has many gaps of one shape and one space. They have the same columns and draw on the same
stock, so a program need not say which of them is built how, only how many are built by each column:
a group of n components has one whole number for every column in place of n booleans. Which job has
which column is dealt out afterwards.

A job's worst ties its components, and dealing must keep to it. That is exact where all columns of
a job stand in one order on every level of a worst: then whoever may hold a worse column may hold
every better one. Components of a job without such an order, or with one that is counted, stand for
themselves, each a group of one; so do those that could take the same part of the job's own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from specs.errors import JudgeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.batch.column_costs import Weighing
    from solver.batch.columns import ComponentBuild, Listing
    from solver.batch.components import Component

Grade = tuple[int, ...]
"""What a column has of every level that is a job's worst."""


@dataclass(slots=True)
class Group:
    """Components that are alike, and the columns they are built by."""

    component: Component
    """Any one of them."""
    columns: list[ComponentBuild]
    values: list[tuple[int, ...]]
    """For each column, what it is worth on every level."""
    grades: list[Grade]
    own: frozenset[int]
    """Choices that belong to each job alone, of which columns take some."""
    members: list[int] = field(default_factory=list)
    """The jobs, one as often as it has such components."""
    variables: list[int] = field(default_factory=list)
    """For each column, how many of the components are built by it."""

    @property
    def alone(self) -> bool:
        """Whether it is the component of one job."""
        return len(self.members) == 1

    def dealt(
        self, values: tuple[int, ...], complete: Mapping[int, int], limits: Mapping[int, Grade]
    ) -> list[int | None]:
        """For each member the number of its column; the worst to those that may hold it.

        `limits` names the grade a job must stay under, where it must. Raises JudgeError where
        there are not as many columns as members to be built.
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
    """Parts components into groups."""

    def __init__(self, weighing: Weighing, listing: Listing) -> None:
        self.weighing = weighing
        self.listing = listing
        self.worst = [n for n, level in enumerate(weighing.batch.levels) if level.worst]
        self._known: dict[object, Group] = {}

    def of(self, job: int) -> list[Group | None]:
        """The groups of a job's components in order; None for one that is counted."""
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
        """The group of all components that are alike."""
        key = self.weighing.key(job, component, columns)
        if key not in self._known:
            values, kept = self.weighing.weighed(job, component, columns)
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

    def _apart(self, group: Group) -> Group:
        return replace(group, members=[], variables=[])


def _in_one_order(grades: Iterable[Grade]) -> bool:
    """Whether of any two, one is no better on any level."""
    return all(
        a <= b
        for one, other in pairwise(sorted({*grades}))
        for a, b in zip(one, other, strict=True)
    )
