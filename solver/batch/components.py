"""Splits a job into components that are tied together by stock alone.

Gaps that hold one shared part, or that a rule counts together, form one component. Every other gap
is a component of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.problem.components import blocks, part_of
from solver.problem.shared_parts import holders

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.problem.instance import Instance


@dataclass(frozen=True, slots=True)
class Component:
    """Some gaps of a job, as an instance of their own; choices are numbered as in the job."""

    gaps: tuple[int, ...]
    instance: Instance


def components(instance: Instance) -> list[Component]:
    """Split a job into its components, in the order of its gaps."""
    return [
        Component(gaps, part_of(instance, gaps))
        for gaps in blocks(len(instance.gaps), _ties(instance))
    ]


def _ties(instance: Instance) -> Iterator[list[int]]:
    yield from holders(instance.shared, instance.gaps)
    for rule in instance.rules:
        yield [index for index, gap in enumerate(instance.gaps) if rule.binds(gap)]
