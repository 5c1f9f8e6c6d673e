"""Finds the values of one reading that a shelf serves, while the other readings are fixed.

A reading moves rooms by whole steps, each layout's by its own number. A gap that stands apart from
the others is solved by sums (solver/cover/sweep.py), once for all values. Gaps that depend on each
other are solved at one value, where each of them that moves could be served at all, with the gaps
that stand apart held at their best. The build found serves the values after it as long as it stays
best, which is the question of a sensitivity (solver/explain/stability.py). Where a gap that moves
has too many patterns to list, they are solved value by value.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from solver.builds.enumeration import TooManyError
from solver.cover.sweep import Best, best_by_sums, count_builds, served, slotted_layouts
from solver.engines.limits import Clock, Limits
from solver.explain.stability import MovedPatterns, Stability
from solver.problem import judge
from solver.problem.components import part_of, stands_apart, together
from solver.problem.parameter import Sweep
from solver.problem.solution import Fit
from solver.rebuild.alternatives import held
from solver.rebuild.clear_of_limits import keeps_clear, narrowed
from solver.rebuild.fit import searched
from specs.errors import JudgeError

if TYPE_CHECKING:
    from solver.problem.instance import Build, Instance


Status = Literal["fit", "no fit", "unknown"]


@dataclass(frozen=True, slots=True)
class Served:
    """The answer at one value of the reading."""

    status: Status
    """`unknown`: time ran out before a best build, or its absence, was proved."""
    build: Build = ()
    values: tuple[int, ...] = ()
    """The value of each level of the whole job."""
    builds: int | None = None
    """How many builds of the gap that moves a person could tell apart; None: not counted."""
    clear: bool | None = None
    """Whether some build keeps every gap clear of its limits by its guard band; None: nothing fits,
    or time ran out first."""

    @property
    def only_to_limit(self) -> bool:
        """Whether something fits, and nothing that keeps every gap clear of its limits."""
        return self.clear is False

    @property
    def undecided(self) -> bool:
        """Whether time ran out first, for what fits or for what keeps clear."""
        return self.status == "unknown" or (self.status == "fit" and self.clear is None)


def cover(sweep: Sweep, limits: Limits | None = None) -> tuple[Served, ...]:
    """Find the best build at every value of a parameter, or prove that there is none.

    Parameters
    ----------
    sweep
        The instance at the first value, the steps by which each layout's room grows from a value to
        the next, and the number of values.
    limits
        Seconds, workers and a watch.

    Returns
    -------
    tuple of Served
        One for each value, in their order.

    Raises
    ------
    JudgeError
        Where an answer does not hold in plain integers.
    """
    covering = Covering(sweep, Clock(limits or Limits()))
    found = {}
    for done, nth in enumerate(covering.order()):
        covering.clock.limits.watch.words = f"{done} of {sweep.count} values done"
        found[nth] = covering.at(nth)
    served = tuple(found[nth] for nth in range(sweep.count))
    _judge(sweep, served)
    return _told_apart(sweep, served, covering.clock)


def _told_apart(sweep: Sweep, found: tuple[Served, ...], clock: Clock) -> tuple[Served, ...]:
    """Say of each value whether some build keeps clear of every limit.

    Where the best build does, that is known. Elsewhere, as where a layout of lower rank comes
    first, a build is looked for with every window narrowed by its guard band.
    """
    clear: dict[int, bool | None] = {}
    close: list[int] = []
    for nth, one in enumerate(found):
        if one.status == "fit":
            clear[nth] = keeps_clear(sweep.at(nth), one.build)
            close += [nth] * (not clear[nth])
    if close:
        clear |= _clear_at(_narrowed(sweep), set(close), clock)
    return tuple(replace(one, clear=clear.get(nth)) for nth, one in enumerate(found))


def _clear_at(sweep: Sweep, values: set[int], clock: Clock) -> dict[int, bool | None]:
    """Return of some values whether the narrowed windows hold a build; None: time ran out."""
    if not all(gap.layouts for gap in sweep.instance.gaps):
        return dict.fromkeys(values, False)
    covering, clear = Covering(sweep, clock), dict[int, bool | None]()
    for nth in covering.order():
        if nth in values:
            one = covering.at(nth)
            clear[nth] = None if one.status == "unknown" else one.status == "fit"
            if one.status == "fit" and judge.faults(sweep.at(nth), one.build):
                raise JudgeError("a build said to keep clear of the limits does not")
    return clear


def _narrowed(sweep: Sweep) -> Sweep:
    """Return a sweep with its windows narrowed by their guard bands, without those left empty."""
    gaps, rates = [], []
    for gap, its in zip(sweep.instance.gaps, sweep.rates, strict=True):
        both = zip(map(narrowed, gap.layouts), its, strict=True)
        kept = [(lay, rate) for lay, rate in both if lay]
        gaps.append(replace(gap, layouts=tuple(lay for lay, _ in kept)))
        rates.append(tuple(rate for _, rate in kept))
    instance = replace(sweep.instance, gaps=tuple(gaps), aims=())
    return replace(sweep, instance=instance, rates=tuple(rates))


def _judge(sweep: Sweep, found: tuple[Served, ...]) -> None:
    """Judge each build in plain integers at the first and the last value it is for.

    Between these values only the gap changes. A window that holds both ends holds all between.
    """
    ends: dict[Build, list[int]] = {}
    for nth, one in enumerate(found):
        if one.status == "fit":
            ends[one.build] = [*ends.get(one.build, [])[:1], nth]
    for build, judged in ends.items():
        for nth in judged:
            instance, values = sweep.at(nth), found[nth].values
            wrong = judge.faults(instance, build)
            if wrong:
                raise JudgeError(f"a build by sums is not allowed: {'; '.join(wrong)}")
            if values != judge.values(instance, build):
                told = judge.values(instance, build)
                raise JudgeError(f"the sums say {values}, plain integers say {told}")


class Covering:
    """Solves a sweep value by value, with the work that serves all values done once.

    Parameters
    ----------
    sweep
        The instance, the rates of its layouts, and the number of values.
    clock
        The time for all values.
    """

    def __init__(self, sweep: Sweep, clock: Clock) -> None:
        self.sweep, self.clock = sweep, clock
        self.lone: dict[int, list[Best | None]] = {}
        self.builds: list[int] | None = None
        gaps = range(len(sweep.instance.gaps))
        moving = [index for index in gaps if sweep.moves(index)]
        self.apart = {
            n: part_of(sweep.instance, [n]) for n in gaps if stands_apart(sweep.instance, n)
        }
        for index, instance in self.apart.items():
            its = Sweep(instance, (sweep.rates[index],), sweep.count if index in moving else 1)
            layouts = slotted_layouts(its)
            try:
                self.lone[index] = best_by_sums(its, layouts)
            except TooManyError:
                continue
            if moving == [index]:
                self.builds = count_builds(its, layouts)
        self.joint = [index for index in gaps if index not in self.lone]
        self.possible = self._possible([index for index in self.joint if index in moving])
        self.steady = bool(self.lone) and not set(self.joint) & set(moving)
        self.solved: list[_Solved] = []
        self.patterns = MovedPatterns(sweep)
        self.last: Status = "fit"
        self.build: Build = ()
        """The build last found best where gaps depend on each other."""
        self.until = -1
        """The last value at which it is known to be."""

    def _possible(self, joint: list[int]) -> set[int]:
        """Return the values at which each gap that moves can be served by itself, without rules."""
        sweep = self.sweep
        found = set(range(sweep.count))
        for index in joint:
            instance = replace(sweep.instance, gaps=(sweep.instance.gaps[index],), rules=())
            try:
                found &= served(Sweep(instance, (sweep.rates[index],), sweep.count))
            except TooManyError:
                continue
        return found

    def order(self) -> list[int]:
        """Return the order in which to solve values: those that leave most to the others first."""
        every = range(self.sweep.count)
        if not self.joint or not self.steady:
            return list(every)
        return sorted(every, key=lambda nth: self._worst(self._lone_at(nth)), reverse=True)

    def _lone_at(self, nth: int) -> dict[int, Best]:
        """Return the best builds of the gaps that stand apart and fit at a value."""
        bests = {index: bests[nth % len(bests)] for index, bests in self.lone.items()}
        return {index: best for index, best in bests.items() if best}

    def at(self, nth: int) -> Served:
        """Return the answer at one value, given by its index; they are asked in `order`."""
        lone = self._lone_at(nth)
        if len(lone) < len(self.lone) or nth not in self.possible:
            return Served("no fit", builds=self._counted(nth))
        return self._jointly(nth, lone) if self.joint else self._put_together(nth, lone)

    def _counted(self, nth: int) -> int | None:
        return self.builds[nth] if self.builds is not None else None

    def _put_together(self, nth: int, lone: dict[int, Best]) -> Served:
        """Combine the builds of gaps that all stand apart."""
        build = tuple(lone[index].build[0] for index in range(len(lone)))
        each = [(self.apart[index], best.values) for index, best in lone.items()]
        values = each[0][1] if len(each) == 1 else together(self.sweep.instance, each)
        return Served("fit", build, values, self._counted(nth))

    def _jointly(self, nth: int, lone: dict[int, Best]) -> Served:
        """Solve the gaps that depend on each other, with the other gaps held.

        These see of the others only the worst values that they leave. So where they do not move, an
        answer may serve further values by that alone; where they move, as long as it stays best.
        Once time is up, or the search was stopped, all further values are unknown.
        """
        if self.last == "unknown" or (self.last == "no fit" and self.steady):
            return Served(self.last)
        if nth <= self.until:
            return self._with(nth, lone, self.build)
        instance = self.sweep.at(nth)
        left = self._worst(lone)
        for solved in self.solved:
            if solved.serves(left):
                return self._with(nth, lone, solved.build)
        gaps = tuple(
            held(gap, lone[index].build[0]) if index in lone else gap
            for index, gap in enumerate(instance.gaps)
        )
        answer = searched(replace(instance, gaps=gaps), self.clock)
        if not isinstance(answer, Fit) or not answer.proved:
            self.last = "no fit" if answer is None else "unknown"
            return Served(self.last)
        self.last, self.build = "fit", answer.build
        served = self._with(nth, lone, answer.build)
        if self.steady:
            self.solved.append(_Solved(left, self._needs(instance, answer.build), answer.build))
        else:
            self.until = self._last_best(nth, served.build)
        return served

    def _last_best(self, nth: int, build: Build) -> int:
        """Return the last value up to which a build that is best at a value is known to stay so."""
        moved = (self.patterns.moved(index, built) for index, built in enumerate(build))
        last = min(gap.lands.stop for gap in moved) - 1
        lone = [best.build for best in self._lone_at(nth).values()]
        for later in range(nth + 1, last + 1):
            if [best.build for best in self._lone_at(later).values()] != lone:
                last = later - 1
                break
        if last == nth:
            return nth
        stability = Stability(self.patterns, build, self.clock, self.lone)
        if not stability.by_ranges or stability.first_better(nth + 1, nth + 1) is not None:
            return nth
        better = stability.first_better(nth + 2, last)
        return last if better is None else better - 1

    def _with(self, nth: int, lone: dict[int, Best], solved: Build) -> Served:
        build = tuple(
            lone[index].build[0] if index in lone else chosen for index, chosen in enumerate(solved)
        )
        values = judge.values(self.sweep.at(nth), build)
        return Served("fit", build, values, self._counted(nth))

    def _worst(self, lone: dict[int, Best]) -> tuple[int, ...]:
        """Return the worst values of the gaps that stand apart, level by level."""
        each = [
            [v for v, level in zip(best.values, self.apart[n].levels, strict=True) if level.worst]
            for n, best in lone.items()
        ]
        return tuple(map(max, zip(*each, strict=True)))

    def _needs(self, instance: Instance, build: Build) -> tuple[int, ...]:
        """Return the worst values of the gaps that depend on each other, level by level."""
        part = replace(instance, gaps=tuple(instance.gaps[index] for index in self.joint))
        values = judge.values(part, tuple(build[index] for index in self.joint))
        return tuple(v for v, level in zip(values, part.levels, strict=True) if level.worst)


@dataclass(frozen=True, slots=True)
class _Solved:
    """The best build of the gaps that depend on each other, for some worst values of the others."""

    left: tuple[int, ...]
    needs: tuple[int, ...]
    build: Build

    def serves(self, left: tuple[int, ...]) -> bool:
        """Return whether the build is best for other worst values too.

        On each level it must hold that the build needs no more than these values and they are no
        worse than before, or that it needed more than before and still does. Any build that would
        be better now would then have been better before.
        """
        each = zip(left, self.left, self.needs, strict=True)
        return all(need <= now <= was or (was < need and now <= need) for now, was, need in each)
