"""One rebuild: the best build by the ordered aims, proved; or no fit, and how near it comes.

Keeps the patterns that are at their gap's own least, level by level, as a first guess.

A level summed over the gaps is never below the sum of each gap's own least, and one taken at the
worst gap never below the greatest of these. If some build reaches that on the first levels, then
every best build does, and each of its patterns is among those kept here: on those levels nothing
is left to search, and their bound is proved. If none does, fewer levels are guessed.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from solver.builds.counts import counts_block
from solver.builds.dominance import undominated_patterns
from solver.builds.enumeration import TooManyError
from solver.builds.patterns import Pattern, list_patterns, pattern_block
from solver.engines.cp_sat import Program
from solver.engines.limits import Clock, Limits
from solver.problem import judge
from solver.problem.solution import Answer, Fit, Undecided
from solver.rebuild.model import BestBuild, Model
from solver.rebuild.nearest_miss import nearest_miss
from specs.errors import InputError, JudgeError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.builds.dominance import Listed
    from solver.problem.gaps import GridGap
    from solver.problem.instance import Instance


def fit(instance: Instance, limits: Limits | None = None) -> Answer:
    """Choose the parts of one rebuild: the best build by the ordered aims, or how near it comes.

    Parameters
    ----------
    instance
        The instance, in steps of its grid.
    limits
        Seconds, workers and a watch; a minute on one worker by default.

    Returns
    -------
    Answer
        A `Fit` (proved best, or the best found in time), a `NoFit` (proved, with the nearest miss
        of each gap and of all together), or `Undecided` where time ran out before either.

    Raises
    ------
    JudgeError
        Where the engine's answer does not hold in plain integers.
    """
    clock = Clock(limits or Limits())
    return searched(instance, clock) or nearest_miss(instance, clock)


def searched(instance: Instance, clock: Clock) -> Fit | Undecided | None:
    """The best build, or nothing where it is proved that there is none.

    Raises JudgeError where the engine's answer does not hold in plain integers.
    """
    patterns = [listed(instance, gap) for gap in instance.gaps]
    if [] in patterns:
        return None
    found = _descended(instance, patterns, clock)
    if found.status == "infeasible":
        return None
    if found.build is None:
        return Undecided(instance)
    return judged(instance, found)


def _descended(instance: Instance, patterns: Listed, clock: Clock) -> BestBuild:
    """Descend from the boldest guess that holds; the last guess is none."""
    for kept in at_ideal_point(instance, patterns):
        found = model_of(instance, undominated_patterns(instance, kept)).best(clock)
        if found.status != "infeasible":
            break
    return found


def judged(instance: Instance, found: BestBuild) -> Fit:
    """Take an answer of the engine only after it was judged in plain integers."""
    build = found.build
    if build is None:
        raise JudgeError("there is no build to judge")
    wrong = judge.faults(instance, build)
    if wrong:
        raise JudgeError(f"the engine's build is not allowed: {'; '.join(wrong)}")
    values = judge.values(instance, build)
    proved = found.status == "optimal"
    levels = found.reached[: len(values)]
    said = tuple(level.value for level in levels)
    if proved and values != said:
        raise JudgeError(f"the engine says {said}, plain integers say {values}")
    gaps = tuple(judge.gap_of(instance, build, index) for index in range(len(build)))
    return Fit(instance, build, gaps, values, tuple(level.bound for level in levels), proved)


def listed(instance: Instance, gap: GridGap) -> list[Pattern] | None:
    """A gap's patterns, or None where they are too many to list.

    Raises InputError where each must be sure enough, so that all must be listed.
    """
    try:
        return list_patterns(instance, gap)
    except TooManyError:
        if instance.sure is None:
            return None
        sentence = (
            f"{gap.name} has too many builds to work out how sure each is; keep some of its parts "
            "(`keep` in the job), or put lots together that measured nearly the same"
        )
        raise InputError(Problem(sentence)) from None


def model_of(instance: Instance, patterns: list[list[Pattern] | None]) -> Model:
    """Put a job into a program: gaps with patterns by their patterns, the others by counts."""
    program = Program()
    blocks = [
        counts_block(instance, gap, program)
        if mine is None
        else pattern_block(instance, mine, program)
        for gap, mine in zip(instance.gaps, patterns, strict=True)
    ]
    return Model(instance, program, blocks)


def at_ideal_point(instance: Instance, listed: Listed) -> Iterator[Listed]:
    """The patterns kept for all levels at the ideal point, for half of them, ... for none."""
    depth = 0 if None in listed else _parted_first(instance)
    while depth:
        kept = _fixed_at_ideal_point(instance, listed, depth)
        if not _short(instance, kept):
            yield kept
        depth //= 2
    yield listed


def _parted_first(instance: Instance) -> int:
    """How many of the first levels are parted among the gaps."""
    parted = [instance.parted(level) for level in instance.levels]
    return [*parted, False].index(False)


def _fixed_at_ideal_point(instance: Instance, listed: Listed, depth: int) -> Listed:
    """The patterns with the least that their gap can have on each of the first levels."""
    kept = [patterns or [] for patterns in listed]
    for nth, level in enumerate(instance.levels[:depth]):
        least = [min(pattern.values[nth] for pattern in patterns) for patterns in kept]
        if level.worst:
            least = [max(least)] * len(kept)
        kept = [
            [pattern for pattern in patterns if pattern.values[nth] <= most]
            for patterns, most in zip(kept, least, strict=True)
        ]
    return list(kept)


def _short(instance: Instance, listed: Listed) -> bool:
    """Whether the gaps need more of a choice than there is, whichever patterns they take."""
    needed: Counter[int] = Counter()
    for patterns in listed:
        needed.update(_always_used(patterns or []))
    return any(count > instance.choices[choice].count for choice, count in needed.items())


def _always_used(patterns: list[Pattern]) -> dict[int, int]:
    """How many of each choice every one of some patterns uses."""
    common = dict(patterns[0].draw.parts) if patterns else {}
    for pattern in patterns:
        here = dict(pattern.draw.parts)
        common = {c: min(count, here[c]) for c, count in common.items() if c in here}
        if not common:
            break
    return common
