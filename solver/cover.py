"""Which spaces a shelf serves: every value of one reading in a range, the others standing.

A reading moves rooms by whole steps, each layout's by its own. A gap that stands apart from the
others is worked out by sums (solver/spread.py), once for all values. Gaps that must be looked at
together are solved value by value, where each that moves could be served at all, with the gaps
that stand apart held at their best.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from solver import judge
from solver.answer import Fit, NoFit
from solver.apart import alone, stands_apart, together
from solver.course import Course
from solver.engine import Clock, Limits
from solver.equal import held
from solver.fills import TooManyError
from solver.fit import fit
from solver.spread import Best, best_by_sums, count_builds, served
from specs.errors import JudgeError

if TYPE_CHECKING:
    from solver.task import Build


@dataclass(frozen=True, slots=True)
class Served:
    """What there is at one value."""

    status: Literal["fit", "no fit", "unknown"]
    """unknown: out of time before a build was proved best, or before it was proved there is none."""
    build: Build = ()
    values: tuple[int, ...] = ()
    """The value of each level of the whole job."""
    builds: int | None = None
    """How many builds of the gap that moves a person could tell apart; None: not counted."""


def cover(course: Course, limits: Limits | None = None) -> tuple[Served, ...]:
    """Find the best build at every value, or that there is none.

    Raises JudgeError where an answer does not hold in plain integers.
    """
    covering = _Covering(course, Clock(limits or Limits()))
    found = []
    for nth in range(course.count):
        covering.clock.limits.watch.words = f"{nth} of {course.count} values done"
        found.append(covering.at(nth))
    _judge(course, found)
    return tuple(found)


def _judge(course: Course, found: list[Served]) -> None:
    """Judge each build in plain integers at the first and the last value it is for.

    Between them only the gap differs, and a window that holds both ends holds it.
    """
    ends: dict[Build, list[int]] = {}
    for nth, one in enumerate(found):
        if one.status == "fit":
            ends[one.build] = [*ends.get(one.build, [])[:1], nth]
    for build, judged in ends.items():
        for nth in judged:
            task, values = course.at(nth), found[nth].values
            wrong = judge.faults(task, build)
            if wrong:
                raise JudgeError(f"a build by sums is not allowed: {'; '.join(wrong)}")
            if values != judge.values(task, build):
                told = judge.values(task, build)
                raise JudgeError(f"the sums say {values}, plain integers say {told}")


class _Covering:
    """What is worked out once for all values."""

    def __init__(self, course: Course, clock: Clock) -> None:
        self.course, self.clock = course, clock
        self.lone: dict[int, list[Best | None]] = {}
        self.builds: list[int] | None = None
        gaps = range(len(course.task.gaps))
        moving = [index for index in gaps if course.moves(index)]
        self.apart = {n: alone(course.task, n) for n in gaps if stands_apart(course.task, n)}
        for index, task in self.apart.items():
            its = Course(task, (course.rates[index],), course.count if index in moving else 1)
            try:
                self.lone[index] = best_by_sums(its)
            except TooManyError:
                continue
            if moving == [index]:
                self.builds = count_builds(its)
        self.joint = [index for index in gaps if index not in self.lone]
        self.possible = self._possible([index for index in self.joint if index in moving])

    def _possible(self, joint: list[int]) -> set[int]:
        """The values at which every gap that moves could be served, the others and rules aside."""
        course = self.course
        found = set(range(course.count))
        for index in joint:
            task = replace(course.task, gaps=(course.task.gaps[index],), rules=())
            try:
                found &= served(Course(task, (course.rates[index],), course.count))
            except TooManyError:
                continue
        return found

    def at(self, nth: int) -> Served:
        """What there is at one value."""
        bests = {index: bests[nth % len(bests)] for index, bests in self.lone.items()}
        lone = {index: best for index, best in bests.items() if best}
        if len(lone) < len(bests) or nth not in self.possible:
            return Served("no fit", builds=self.builds and self.builds[nth])
        return self._jointly(nth, lone) if self.joint else self._put_together(nth, lone)

    def _put_together(self, nth: int, lone: dict[int, Best]) -> Served:
        """The builds of gaps that all stand apart."""
        build = tuple(lone[index].build[0] for index in range(len(lone)))
        each = [(self.apart[index], best.values) for index, best in lone.items()]
        values = each[0][1] if len(each) == 1 else together(self.course.task, each)
        return Served("fit", build, values, self.builds and self.builds[nth])

    def _jointly(self, nth: int, lone: dict[int, Best]) -> Served:
        """Solve the gaps that belong together, the others held."""
        task = self.course.at(nth)
        gaps = tuple(
            held(gap, lone[index].build[0]) if index in lone else gap
            for index, gap in enumerate(task.gaps)
        )
        answer = fit(replace(task, gaps=gaps), self.clock.rest())
        if not isinstance(answer, Fit) or not answer.proved:
            return Served("no fit" if isinstance(answer, NoFit) else "unknown")
        build = tuple(
            lone[index].build[0] if index in lone else chosen
            for index, chosen in enumerate(answer.build)
        )
        return Served("fit", build, answer.values)
