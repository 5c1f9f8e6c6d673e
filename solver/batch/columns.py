"""Lists every way to build one component of a job, as columns for the program of a batch.

The builds of a gap are listed once for each shape of gap, whatever its space. The list is sorted by
the room the builds take, so a space and a window select a run of it. Gaps of one shape share this
work, and components whose spaces are equal too share their columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from solver.batch.components import components
from solver.builds import patterns
from solver.builds.enumeration import TooManyError, layout_builds
from solver.problem import judge
from solver.problem.shared_parts import in_one_job, most_changes

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator

    from solver.batch.components import Component
    from solver.batch.instance import Batch
    from solver.builds.enumeration import LayoutBuild
    from solver.builds.patterns import Pattern
    from solver.problem.gaps import GridGap, GridLayout
    from solver.problem.instance import Build, Instance

MOST_COLUMNS = 5_000
MOST_ANYWHERE = 20_000  # builds of one layout in any space


@dataclass(frozen=True, slots=True)
class ComponentBuild:
    """One way to build a component."""

    build: Build
    """One build for each of the component's gaps, in their order."""
    values: tuple[int, ...]
    """Its addition to each level of its job; 0 for scarcity, which depends on the whole plan."""
    uses: tuple[tuple[int, int], ...]
    """Choices, each with the number of parts taken."""


class Lister:
    """Lists the columns of components, and remembers those of each shape of gap."""

    def __init__(self) -> None:
        self._layouts: dict[Hashable, list[LayoutBuild]] = {}
        self._gaps: dict[Hashable, list[Pattern]] = {}
        self._columns: dict[Hashable, list[ComponentBuild]] = {}

    def columns(self, component: Component) -> list[ComponentBuild]:
        """List the columns of a component.

        Components that are alike get the same list object, which callers may compare by identity.

        Raises
        ------
        TooManyError
            Where a component has more than MOST_COLUMNS columns, or a layout too many builds.
        """
        instance = component.instance
        stock = _stock_key(instance)
        keys = [_gap_key(gap) for gap in instance.gaps]
        key = (
            stock,
            tuple(keys),
            tuple(instance.shared),
            tuple(instance.rules),
            instance.levels,
            instance.step,
        )
        if key not in self._columns:
            listed = [
                self._of_gap(instance, gap, (stock, of_gap, instance.levels))
                for gap, of_gap in zip(instance.gaps, keys, strict=True)
            ]
            self._columns[key] = list(_combined(instance, listed))
        return self._columns[key]

    def _of_gap(self, instance: Instance, gap: GridGap, key: tuple[Hashable, ...]) -> list[Pattern]:
        if key not in self._gaps:
            found = [
                item
                for nth, layout in enumerate(gap.layouts)
                for item in self._in_space(instance, gap, nth, layout)
            ]
            if len(found) > MOST_COLUMNS:
                raise TooManyError
            self._gaps[key] = found
        return self._gaps[key]

    def _in_space(
        self, instance: Instance, gap: GridGap, nth: int, layout: GridLayout
    ) -> Iterator[Pattern]:
        builds = self._of_layout(instance, gap, layout)
        takes = [build.takes for build in builds]
        landed = patterns.landing(instance, nth, layout)
        yield from map(landed, builds[layout.landing(takes, layout.room)])

    def _of_layout(self, instance: Instance, gap: GridGap, layout: GridLayout) -> list[LayoutBuild]:
        key = (_stock_key(instance), _layout_key(layout)[5:], gap.shifts, instance.levels)
        if key not in self._layouts:
            found = layout_builds(instance, gap, layout, patterns.MOST_PATTERNS, MOST_ANYWHERE)
            self._layouts[key] = sorted(
                (build for build in found if _in_stock(instance, build)), key=lambda one: one.takes
            )
        return self._layouts[key]


@dataclass(slots=True)
class Listing:
    """The components of every job with their columns; None where these are too many to list."""

    parts: list[list[tuple[Component, list[ComponentBuild] | None]]]

    def can_complete(self, job: int) -> bool:
        """Return whether the whole stock suffices to build every component of a job by itself."""
        return all(columns is None or columns for _, columns in self.parts[job])


def listing_of(batch: Batch) -> Listing:
    """List the columns of every job in a batch; components that are alike are listed once."""
    lister = Lister()

    def columns(component: Component) -> list[ComponentBuild] | None:
        try:
            return lister.columns(component)
        except TooManyError:
            return None

    return Listing([[(c, columns(c)) for c in components(job.instance)] for job in batch.jobs])


def _in_stock(instance: Instance, build: LayoutBuild) -> bool:
    """Return whether the stock holds enough of each choice for a build."""
    return all(count <= instance.choices[choice].count for choice, count in build.draw.parts)


def _combined(instance: Instance, listed: list[list[Pattern]]) -> Iterator[ComponentBuild]:
    """Combine one build of every gap where they agree on shared parts and keep the rules."""
    held = any(pattern.draw.shares for each in listed for pattern in each)
    if len(listed) == 1 and not (instance.rules or held or most_changes(instance.shared)):
        for pattern in listed[0]:
            yield ComponentBuild((pattern.build,), pattern.values, pattern.draw.parts)
        return
    number = 1
    for each in listed:
        number *= len(each)
    if number > MOST_COLUMNS * 4:
        raise TooManyError
    found = 0
    for chosen in product(*listed):
        build = tuple(pattern.build for pattern in chosen)
        uses = in_one_job([pattern.draw for pattern in chosen])
        if uses is None or judge.faults(instance, build):
            continue
        found += 1
        if found > MOST_COLUMNS:
            raise TooManyError
        values = judge.values(instance, build)
        yield ComponentBuild(build, values, tuple(sorted(uses.items())))


def _stock_key(instance: Instance) -> Hashable:
    return tuple(
        (c.family, c.size, c.thickness, c.deficit, c.grade, c.count, c.own)
        for c in instance.choices
    )


def _gap_key(gap: GridGap) -> Hashable:
    return (gap.shifts, tuple(map(_layout_key, gap.layouts)))


def _layout_key(layout: GridLayout) -> tuple[Hashable, ...]:
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
