"""The whole job in one program: its gaps, the stock they share, its rules, and its levels.

`solver.engines.descent` makes the levels least one after the other, as many in one search as can be
weighed exactly. The tie-break closes the list as digits of one number.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.engines.descent import Goal, descend, joined
from solver.engines.expressions import CONSTANT, Expression, add, scale
from solver.problem.aims import Changes, Scarcity
from solver.problem.gaps import RATIO
from solver.problem.shared_parts import (
    agree,
    changes,
    drawn_together,
    most_changes,
    most_in_one_job,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from solver.builds.block import Block
    from solver.engines.cp_sat import Program
    from solver.engines.descent import GoalReached
    from solver.engines.limits import Clock, Status
    from solver.problem.instance import Build, ChoiceRule, Instance


@dataclass(frozen=True, slots=True)
class BestBuild:
    """The best build that was found, and how far its levels were brought down."""

    status: Status
    """`optimal` where all is proved, `feasible` where not; without a build `infeasible` where there
    is none, `unknown` where none was found yet."""
    build: Build | None
    reached: tuple[GoalReached, ...]
    """The levels that were searched, and after them the digits of the tie-break."""


class Model:
    """Rows that hold for the whole job, over the blocks of its gaps."""

    def __init__(self, instance: Instance, program: Program, blocks: list[Block]) -> None:
        self.instance = instance
        self.program = program
        self.blocks = blocks
        self.shared = agree(program, [block.shares for block in blocks], {CONSTANT: 1})
        self.most = most_in_one_job((block.most for block in blocks), self.shared)
        drawn = drawn_together((block.uses for block in blocks), self.shared)
        self.drawn = {choice: drawn.get(choice, {}) for choice in range(len(instance.choices))}
        for choice, stock in enumerate(instance.choices):
            if self._most((choice,)) > stock.count:
                program.row(self.drawn[choice], None, stock.count)
        for rule in instance.rules:
            self._rule(rule)

    def _most(self, choices: Iterable[int]) -> int:
        """No more than this many of some choices are ever asked for."""
        return sum(self.most[choice] for choice in choices)

    def _rule(self, rule: ChoiceRule) -> None:
        first, second = (self._number(c, rule.gap) for c in (rule.first, rule.second))
        if rule.kind == "at most":
            self.program.row(first, None, rule.bound)
            return
        if rule.kind == "at least":
            self.program.row(first, rule.bound, None)
            return
        used = self._used(first, rule.first)
        if rule.kind == "must":
            self.program.row(add(second, {used: -1}), 0, None)
        else:
            self.program.row({used: 1, self._used(second, rule.second): 1}, None, 1)

    def _number(self, choices: Collection[int], gap: int = -1) -> Expression:
        """The number of parts of some choices that a gap takes, or the whole job."""
        if gap < 0:
            return add(*(self.drawn[choice] for choice in sorted(choices)))
        block = self.blocks[gap]
        joint = (held for (_, choice), held in block.shares.items() if choice in choices)
        return add(*(block.uses.get(choice, {}) for choice in sorted(choices)), *joint)

    def _used(self, number: Expression, choices: frozenset[int]) -> int:
        """A boolean that must be 1 where any of the choices is used."""
        used = self.program.boolean()
        self.program.row(add(number, {used: -max(1, self._most(choices))}), None, 0)
        return used

    def goals(self) -> list[Goal]:
        """The levels, then the digits of the tie-break."""
        goals = [self.goal(index) for index in range(len(self.instance.levels))]
        digits = [digit for block in self.blocks for digit in block.digits]
        return goals + [Goal(expression, 0, count - 1) for expression, count in digits]

    def goal(self, index: int) -> Goal:
        """What one level makes least."""
        level = self.instance.levels[index]
        if isinstance(level.counts, Scarcity):
            return self._scarce()
        parts = [block.levels[index] for block in self.blocks]
        lows, highs = zip(*(block.spans[index] for block in self.blocks), strict=True)
        if level.worst:
            worst = self.program.integer(max(lows), max(highs))
            for part in parts:
                self.program.row(add({worst: 1}, scale(part, -1)), 0, None)
            return Goal({worst: 1}, max(lows), max(highs))
        if isinstance(level.counts, Changes):
            shared = self.instance.shared
            parts.append(changes(shared, self.shared))
            return Goal(add(*parts), sum(lows), sum(highs) + most_changes(shared))
        return Goal(add(*parts), sum(lows), sum(highs))

    def _scarce(self) -> Goal:
        """Each further part of a size costs more, so the steps fill up in their order."""
        total: Expression = {}
        top = 0
        for choices in self.instance.sizes.values():
            on_hand = sum(self.instance.choices[choice].count for choice in choices)
            most = min(on_hand, self._most(choices))
            costs = [RATIO // (on_hand - nth) for nth in range(most)]
            steps = {self.program.boolean(): cost for cost in costs}
            taken = self._number(choices)
            self.program.row(add(taken, dict.fromkeys(steps, -1)), 0, 0)
            total |= steps
            top += sum(costs)
        return Goal(total, 0, top)

    def shut_out(self, build: Build, gaps: Iterable[int] | None = None) -> None:
        """Ask that a person could tell the next build from this one.

        In one of the gaps given (or of all) the layout or the counts by size must differ.
        """
        differs: list[int] = []
        for index in range(len(build)) if gaps is None else gaps:
            layouts = len(self.instance.gaps[index].layouts)
            differs += self._differs(self.blocks[index].layout, build[index].layout, layouts)
            held = Counter(part for parts in build[index].parts for part in parts)
            for choices in self.instance.sizes.values():
                count = sum(held[choice] for choice in choices)
                number = self._number(choices, index)
                differs += self._differs(number, count, self._most(choices))
        self.program.row(dict.fromkeys(differs, 1), 1, None)

    def _differs(self, number: Expression, value: int, most: int) -> list[int]:
        """Booleans of which one may only be 1 above a value, the other only below it."""
        if not number:
            return []
        above, below = self.program.boolean(), self.program.boolean()
        self.program.row(add(number, {above: -(value + 1)}), 0, None)
        self.program.row(add(number, {below: most - value + 1}), None, most)
        return [above, below]

    def read(self, values: tuple[int, ...]) -> Build:
        """The build that the program's values stand for."""
        return tuple(block.read(values) for block in self.blocks)

    def best(self, clock: Clock, goals: list[Goal] | None = None) -> BestBuild:
        """Bring goals down in order until all are proved, or time is up, or Ctrl-C.

        Parameters
        ----------
        clock
            The time that is left.
        goals
            What to bring down; the levels and the tie-break unless stated.
        """
        goals = self.goals() if goals is None else goals
        found = descend(self.program, _told(goals, clock), clock)
        build = self.read(found.values) if found.values else None
        return BestBuild(found.status, build, found.reached)


def _told(goals: list[Goal], clock: Clock) -> Iterator[list[Goal]]:
    """Yield goals as they are joined, and tell the watch how many of them are proved."""
    held = 0
    for group in joined(goals):
        clock.limits.watch.words = f"{held} of {len(goals)} levels proved"
        yield group
        held += len(group)
