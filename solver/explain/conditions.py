"""Splits what a job asks for into conditions that can be dropped one by one.

Never among them: that places are filled, the sizes a family is made in, faces, grooves and wear
limits. An instance with some conditions dropped is an instance again, so every question about
conditions is answered by solving.

The module also finds whether the sizes a unit is made in could serve a space at all, with enough
of each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor
from typing import TYPE_CHECKING, Literal

from solver.builds.counts import bare_block
from solver.engines.cp_sat import Program
from solver.rebuild.model import Model

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from fractions import Fraction

    from solver.engines.limits import Clock, Status
    from solver.problem.gaps import GridGap, GridLayout, GridPlace, LotChoice
    from solver.problem.instance import Instance

PLENTY = 99  # more parts of a size than any job takes


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition: a limit of a gap, a layout's condition, a kept part, a rule, or a stock."""

    kind: Literal["lowest", "highest", "layout", "kept", "rule", "stock"]
    gap: int = -1
    name: str = ""
    """The name of the layout or the place."""
    rule: int = -1
    size: tuple[str, str] = ("", "")


def conditions_of(instance: Instance) -> tuple[Condition, ...]:
    """Return every condition of an instance in a fixed order, stock last."""
    return (
        *_of_gaps(instance),
        *_rules(instance),
        *(Condition("stock", size=s) for s in instance.sizes),
    )


def _rules(instance: Instance) -> Iterator[Condition]:
    return (Condition("rule", rule=nth) for nth in range(len(instance.rules)))


def _of_gaps(instance: Instance) -> Iterator[Condition]:
    for index, gap in enumerate(instance.gaps):
        yield Condition("lowest", index)
        yield Condition("highest", index)
        yield from (Condition("layout", index, barred.layout.name) for barred in gap.barred)
        layouts = (*gap.layouts, *(barred.layout for barred in gap.barred))
        labels = {place.label for layout in layouts for place in layout.places if place.let_go}
        yield from (Condition("kept", index, label) for label in sorted(labels))


def without(instance: Instance, given_up: Collection[Condition]) -> Instance:
    """Return the instance with some conditions dropped.

    Parameters
    ----------
    instance
        The instance.
    given_up
        The conditions to drop, of those that `conditions_of` returns. A dropped stock adds PLENTY
        parts of each size that is sold.
    """
    sizes = {condition.size for condition in given_up if condition.kind == "stock"}
    dropped = {condition.rule for condition in given_up if condition.kind == "rule"}
    return replace(
        instance,
        choices=tuple(_stocked(choice, sizes) for choice in instance.choices),
        gaps=tuple(_gap(gap, index, given_up) for index, gap in enumerate(instance.gaps)),
        rules=tuple(rule for nth, rule in enumerate(instance.rules) if nth not in dropped),
    )


def _stocked(choice: LotChoice, sizes: set[tuple[str, str]]) -> LotChoice:
    """Return a choice with plenty of parts where its stock is dropped and it can be bought."""
    plenty = choice.sold and (choice.family, choice.size) in sizes
    return replace(choice, count=choice.count + PLENTY) if plenty else choice


def _gap(gap: GridGap, index: int, given_up: Collection[Condition]) -> GridGap:
    mine = [condition for condition in given_up if condition.gap == index]
    aside = {condition.name for condition in mine if condition.kind == "layout"}
    let_in = tuple(barred.layout for barred in gap.barred if barred.layout.name in aside)
    return replace(
        gap,
        layouts=tuple(_layout(layout, mine) for layout in (*gap.layouts, *let_in)),
        barred=tuple(barred for barred in gap.barred if barred.layout.name not in aside),
    )


def _layout(layout: GridLayout, given_up: list[Condition]) -> GridLayout:
    kinds = {condition.kind for condition in given_up}
    freed = {condition.name for condition in given_up if condition.kind == "kept"}
    return replace(
        layout,
        low=None if "lowest" in kinds else layout.low,
        high=None if "highest" in kinds else layout.high,
        places=tuple(_freed(place) if place.label in freed else place for place in layout.places),
    )


def _freed(place: GridPlace) -> GridPlace:
    return replace(place, takes=dict(sorted({**place.takes, **place.let_go}.items())), let_go={})


def can_hold(instance: Instance, clock: Clock) -> Status:
    """Find whether an instance has any build.

    Returns
    -------
    Status
        `optimal` where it has one, `infeasible` where it has none, `unknown` where time ran out.
    """
    program = Program()
    model = Model(instance, program, [bare_block(instance, gap, program) for gap in instance.gaps])
    return model.program.least({}, clock).status


def can_serve(instance: Instance, index: int, shift: Fraction, clock: Clock) -> bool | None:
    """Find whether any sizes of the catalogue bring one gap into a window it has in some layout.

    Parameters
    ----------
    instance
        The instance, with the catalogue among its choices.
    index
        The gap's index. Its limits alone count: stock, rules, kept parts, layouts' conditions and
        the other gaps are ignored.
    shift
        The growth of its space from that in the instance, in steps.
    clock
        The time that is left.

    Returns
    -------
    bool, or None
        None where time ran out.
    """
    gap = instance.gaps[index]
    layouts = (*gap.layouts, *(barred.layout for barred in gap.barred))
    moved = replace(gap, layouts=tuple(_moved(layout, shift) for layout in layouts), barred=())
    alone = replace(instance, gaps=(moved,), rules=())
    free = without(alone, [c for c in conditions_of(alone) if c.kind in ("stock", "kept")])
    return {"optimal": True, "infeasible": False}.get(can_hold(free, clock))


def _moved(layout: GridLayout, shift: Fraction) -> GridLayout:
    """Return a layout with its window lowered, as a larger space does; limits round inwards."""
    return replace(
        layout,
        low=None if layout.low is None else ceil(layout.low - shift),
        high=None if layout.high is None else floor(layout.high - shift),
    )
