"""Every way to build one component of a job, as columns for the program of a batch.

A gap's fillings are listed once for each shape of gap, whatever its space: of the list, sorted by
what they take, a space and a window cut out a run. Alike gaps of alike jobs share the work, and
jobs whose spaces are equal too share the columns.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

from solver.batch.components import components
from solver.builds.enumeration import TooManyError
from solver.builds.patterns import assembled, combined, levels_off, shares_of
from solver.problem import judge
from solver.problem.instance import Build, GapBuild

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator

    from solver.batch.components import Component
    from solver.batch.instance import Batch
    from solver.problem.instance import Gap, Layout, Task

MOST_COLUMNS = 5_000
MOST_FILLINGS = 20_000  # of one layout in any space


@dataclass(frozen=True, slots=True)
class Column:
    """One way to build a component."""

    build: Build
    """For the component's gaps in their order."""
    values: tuple[int, ...]
    """What it adds to each level of its job; scarcity stands as 0."""
    uses: tuple[tuple[int, int], ...]
    """How many of each choice."""


@dataclass(frozen=True, slots=True)
class Filling:
    """One filling of a layout, whatever the space."""

    takes: int
    values: tuple[int, ...]
    uses: tuple[tuple[int, int], ...]
    shares: tuple[tuple[int, int], ...]
    parts: tuple[tuple[int, ...], ...]


class Lister:
    """Lists columns, each shape of gap once."""

    def __init__(self) -> None:
        self._fillings: dict[Hashable, list[Filling]] = {}
        self._gaps: dict[Hashable, list[tuple[Column, tuple[tuple[int, int], ...]]]] = {}
        self._columns: dict[Hashable, list[Column]] = {}

    def columns(self, component: Component) -> list[Column]:
        """List the columns of a component; alike components get one and the same list.

        Raises TooManyError where there are more than MOST_COLUMNS.
        """
        task = component.task
        stock = _stock_key(task)
        keys = [_gap_key(gap) for gap in task.gaps]
        key = (stock, tuple(keys), tuple(task.shared), tuple(task.rules), task.levels, task.step)
        if key not in self._columns:
            listed = [
                self._of_gap(task, gap, (stock, of_gap, task.levels))
                for gap, of_gap in zip(task.gaps, keys, strict=True)
            ]
            self._columns[key] = list(_combined(task, listed))
        return self._columns[key]

    def _of_gap(
        self, task: Task, gap: Gap, key: tuple[Hashable, ...]
    ) -> list[tuple[Column, tuple[tuple[int, int], ...]]]:
        if key not in self._gaps:
            found = [
                item
                for nth, layout in enumerate(gap.layouts)
                for item in self._in_space(task, gap, nth, layout)
            ]
            if len(found) > MOST_COLUMNS:
                raise TooManyError
            self._gaps[key] = found
        return self._gaps[key]

    def _in_space(
        self, task: Task, gap: Gap, nth: int, layout: Layout
    ) -> Iterator[tuple[Column, tuple[tuple[int, int], ...]]]:
        fillings = self._of_layout(task, gap, layout)
        takes = [filling.takes for filling in fillings]
        of_gap: dict[int, tuple[int, ...]] = {}
        for filling in fillings[layout.landing(takes, layout.room)]:
            off = abs(layout.room - filling.takes - layout.aim)
            if off not in of_gap:
                of_gap[off] = levels_off(task, layout, off)
            values = tuple(a + b for a, b in zip(filling.values, of_gap[off], strict=True))
            yield Column((GapBuild(nth, filling.parts),), values, filling.uses), filling.shares

    def _of_layout(self, task: Task, gap: Gap, layout: Layout) -> list[Filling]:
        key = (_stock_key(task), _layout_key(layout)[5:], gap.shifts, task.levels)
        if key not in self._fillings:
            self._fillings[key] = sorted(_fillings(task, gap, layout), key=lambda one: one.takes)
        return self._fillings[key]


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


def _fillings(task: Task, gap: Gap, layout: Layout) -> Iterator[Filling]:
    shares = shares_of(task, gap, layout)
    number = 1
    for ways in shares:
        number *= len(ways)
    if number > MOST_FILLINGS:
        raise TooManyError
    for chosen in combined(replace(layout, low=None, high=None), shares):
        parts, uses = assembled(layout, chosen)
        if all(count <= task.choices[choice].count for choice, count in uses.items()):
            yield Filling(
                sum(share.takes for share in chosen),
                tuple(map(sum, zip(*(share.values for share in chosen), strict=True))),
                tuple(sorted(uses.items())),
                tuple(shared for share in chosen for shared in share.shares),
                parts,
            )


def _combined(
    task: Task, listed: list[list[tuple[Column, tuple[tuple[int, int], ...]]]]
) -> Iterator[Column]:
    """One column of every gap, where they agree on shared parts and keep the rules."""
    held = any(shares for columns in listed for _, shares in columns)
    known = any(shared.now is not None for shared in task.shared)
    if len(listed) == 1 and not (task.rules or held or known):
        yield from (column for column, _ in listed[0])
        return
    number = 1
    for columns in listed:
        number *= len(columns)
    if number > MOST_COLUMNS * 4:
        raise TooManyError
    found = 0
    for chosen in product(*listed):
        build = tuple(column.build[0] for column, _ in chosen)
        if _disagree(chosen) or judge.faults(task, build):
            continue
        found += 1
        if found > MOST_COLUMNS:
            raise TooManyError
        yield Column(
            build, judge.values(task, build), tuple(sorted(judge.drawn(task, build).items()))
        )


def _disagree(chosen: tuple[tuple[Column, tuple[tuple[int, int], ...]], ...]) -> bool:
    """Whether two gaps hold different choices of one shared part."""
    held = {shared for _, shares in chosen for shared in shares}
    return len({part for part, _ in held}) < len(held)


def _stock_key(task: Task) -> Hashable:
    return tuple(
        (c.family, c.size, c.thickness, c.deficit, c.grade, c.count, c.own) for c in task.choices
    )


def _gap_key(gap: Gap) -> Hashable:
    return (gap.shifts, tuple(map(_layout_key, gap.layouts)))


def _layout_key(layout: Layout) -> tuple[Hashable, ...]:
    places = tuple(
        (
            tuple(p.takes.items()),
            p.family,
            p.factor,
            p.least,
            p.most,
            p.heat,
            p.weight,
            p.now,
            p.shared,
        )
        for p in layout.places
    )
    ends = (layout.room, layout.low, layout.high, layout.aim, layout.width)
    return (*ends, layout.rank, layout.nearest, layout.moved, places)
