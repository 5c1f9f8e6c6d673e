"""A mistake is planted in what was built; the check finds it, and all that would explain it too."""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING, Any

from gapwright.check.service import check_case
from solver import Fit
from specs.values.lengths import Length
from tests.amounts import few, share
from tests.oracles.against_brute import disagreements, named, ready_gaps, solve
from tests.oracles.brute_files import fixed_in, lowest_of, own_space
from tests.oracles.brute_force import Brute
from tests.oracles.planted_mistakes import Mistake, Stacks, layout_of, measured, mistakes
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from fractions import Fraction

    from specs.models.case import Case
    from tests.oracles.random_jobs import RandomJob

SEEDS = few(range(70_000, 70_380), 48)
MOST = 2_000  # assignments tried for one change
SOME = (-300_000, -150_000, 150_000, 300_000)
EVEN = 127_000  # nanometres
AWAY = (0, 20_000, 63_500, 63_501, 90_000)


def as_promised(case: Case, fit: Fit) -> Stacks:
    """The stacks of an answer, with the parts at every place."""
    found: Stacks = {}
    for gap, (name, parts) in zip(fit.instance.gaps, named(fit.instance, fit.build), strict=True):
        layout = layout_of(case, gap.name, name)
        stack: list[list[Any]] = []
        for label, place in zip(layout.labels, layout.stack, strict=True):
            family = case.unit.family_of(place.part)
            fixed = fixed_in(case, place.part) if family.fixed else None
            chosen: list[Any] = [*parts.get(label, ())]
            stack.append([(place.part, "", fixed.nm)] if fixed else [part[:3] for part in chosen])
        found[gap.name] = name, stack
    return found


def listed(case: Case, stacks: Stacks, gap: str) -> list[list[str]]:
    """The chosen parts of a gap, as somebody lists them with what they measured."""
    name, stack = stacks[gap]
    return [
        [f"{size} {int(thickness) / 1_000_000:.6f} mm" for _, size, thickness in parts]
        for place, parts in zip(layout_of(case, gap, name).stack, stack, strict=True)
        if case.unit.family_of(place.part).fixed is None
    ]


def built(
    job: RandomJob, case: Case, stacks: Stacks, gaps: dict[str, Fraction], apart: dict[str, int]
) -> Case:
    """The job with its parts listed as they were promised, and what its gaps measured.

    A gap in `apart` was read at two places, each so far from the average.

    Its parts are exact and its places even, so that one mistake is told from another.
    """
    document = deepcopy(job.document)
    state_doubts(document)
    state_trial(document)
    for gap, (name, _) in stacks.items():
        work = document["job"]["gaps"].setdefault(gap, {})
        work["as built"] = {"layout": name, "parts": listed(case, stacks, gap), "at": "0 mm"}
    case = replace(job, document=document).case()
    works = dict(case.job.gaps)
    for gap, length in gaps.items():  # an average over places need not be a decimal number
        as_built = works[gap].as_built
        assert as_built is not None
        away = apart.get(gap, 0)
        places = (length - away, length + away) if away else (length,)
        at = as_built.model_copy(update={"at": tuple(map(Length, places))})
        works[gap] = works[gap].model_copy(update={"as_built": at})
    return replace(case, job=case.job.model_copy(update={"gaps": works}))


def state_doubts(document: Any) -> None:  # noqa: ANN401 - a document holds whatever a file can
    """Let gauges be all that makes a gap of a job doubtful."""
    for family in document["unit"]["families"].values():
        family.setdefault("tolerance", "0")
    for gap in [name for kind in ("packs", "end plays") for name in document["unit"].get(kind, {})]:
        kind = "packs" if gap in document["unit"].get("packs", {}) else "end plays"
        document["unit"][kind][gap]["spreads by"] = "0"
    document["unit"]["parts read with"] = "micrometer"


def state_trial(document: Any) -> None:  # noqa: ANN401 - a document holds whatever a file can
    """Let no part of the shelf be among those tried: one that is built in has left the shelf.

    tests/gapwright/fit/test_part_remarks.py holds those.
    """
    document["job"]["trial parts"] = "of this unit"


def in_window(case: Case, stacks: Stacks, gap: str, at: Fraction) -> bool:
    """Whether a gap of so many nanometres lies in the window of its layout."""
    window = layout_of(case, gap, stacks[gap][0]).window
    low, high = lowest_of(case.unit.gaps[gap], window), window.gap.high
    return (low is None or low.nm <= at) and (high is None or at <= high.nm)


def now_in(job: RandomJob, case: Case, stacks: Stacks) -> Case:
    """The job with what was built in the unit now, wanting the least change first."""
    document = deepcopy(job.document)
    state_doubts(document)
    state_trial(document)
    for gap, (name, _) in stacks.items():
        work = document["job"]["gaps"].setdefault(gap, {})
        work["now"] = {"layout": name, "parts": listed(case, stacks, gap)}
    aims = case.job.aims or case.unit.aims
    document["job"]["aims"] = ["change", *(aim for aim in aims if aim != "change")]
    return replace(job, document=document).case()


def least_change(
    job: RandomJob, case: Case, stacks: Stacks, more: dict[str, Fraction]
) -> Brute | None:
    """The brute force of what to change where gaps were found larger than promised."""

    def space(case: Case, gap: str, layout: str) -> Fraction:
        return own_space(case, gap, layout) + more[gap]

    brute = Brute(now_in(job, case, stacks), tuple(stacks), space)
    return brute if brute.size <= MOST else None


def explains(
    mistake: Mistake,
    found: dict[str, Fraction],
    promised: dict[str, Fraction],
    doubt: dict[str, Fraction],
) -> bool:
    """Whether a mistake would explain what gaps measured, and one that is not as promised.

    How far the doubt reaches is the check's own; test_sure_calibrated holds that.
    """
    apart = {gap: abs(found[gap] - promised[gap]) > doubt[gap] for gap in mistake.gaps}
    return any(apart.values()) and all(
        abs(found[gap] - length) <= doubt[gap] for gap, length in mistake.gaps.items()
    )


def test_the_mistake_that_was_made_is_found_and_so_are_all_like_it() -> None:
    met: Counter[str] = Counter()
    for seed in SEEDS:
        job, rng = random_job(seed), Random(seed)  # noqa: S311 - no secret hangs on it
        case = job.case()
        fit = solve(case)
        if not isinstance(fit, Fit):
            continue
        stacks = as_promised(case, fit)
        promised = {gap: measured(case, stacks, gap) for gap in ready_gaps(case)}
        every = [*mistakes(case, stacks)]
        if not every:
            continue
        swaps = [one for one in every if "swapped" in one.words]
        planted = rng.choice(swaps if swaps and rng.random() < 0.4 else every)
        if rng.random() < 0.4:  # nothing was done wrong: the space itself is another
            planted = Mistake("", {gap: promised[gap] + rng.choice(SOME) for gap in planted.gaps})
        read = {gap: length + rng.randint(-30_000, 30_000) for gap, length in planted.gaps.items()}
        found = promised | read
        check = check_case(built(job, case, stacks, found, {}))
        doubt = {gap.gap: gap.doubt.nm for gap in check.gaps}
        expected = {one.words for one in every if explains(one, found, promised, doubt)}
        mine = {c.words for c in check.causes if "at the bench" not in c.words}
        mine = {words for words in mine if "read in inches" not in words}
        assert mine == expected, seed
        apart = any(abs(found[gap] - promised[gap]) > doubt[gap] for gap in found)
        assert all(gap.explained for gap in check.gaps) == (not apart), seed
        met["planted"] += planted.words in expected
        met["the only one"] += expected == {planted.words}
        met["swapped"] += "swapped" in planted.words and planted.words in expected
        met["two gaps"] += len(planted.gaps) > 1
        met["out"] += not check.inside
        met["agrees"] += check.agrees
        more = {gap: found[gap] - promised[gap] for gap in found}
        brute = check.change and least_change(job, case, stacks, more)
        if check.change and brute:
            assert disagreements(check.change.answer, brute.best()) == [], seed
            met["changed"] += isinstance(check.change.answer, Fit)
            met["no change helps"] += not isinstance(check.change.answer, Fit)
    assert met["planted"] >= share(71), met
    assert met["the only one"] >= share(51), met
    assert min(met["swapped"], met["two gaps"]) >= share(6), met
    assert min(met["changed"], met["no change helps"]) >= share(26), met
    assert min(met["out"], met["agrees"]) >= share(11), met


def test_the_verdict_is_of_the_worst_place() -> None:
    met: Counter[str] = Counter()
    for seed in few(range(71_040, 71_520), 48):
        job, rng = random_job(seed), Random(seed)  # noqa: S311 - no secret hangs on it
        case = job.case()
        fit = solve(case)
        if not isinstance(fit, Fit):
            continue
        stacks = as_promised(case, fit)
        found = {gap: measured(case, stacks, gap) for gap in ready_gaps(case)}
        away = {gap: rng.choice(AWAY) for gap in found}
        check = check_case(built(job, case, stacks, found, away))
        outside, uneven = [], []
        for one in check.gaps:
            places = [found[one.gap] - away[one.gap], found[one.gap] + away[one.gap]]
            inside = all(in_window(case, stacks, one.gap, at) for at in places)
            even = places[1] - places[0] <= EVEN
            assert (one.inside, one.even) == (inside, even), (seed, one.gap)
            assert one.explained
            assert one.agrees == (inside and even), (seed, one.gap)
            outside += [one] * (not inside)
            uneven += [one] * (not even)
            met["preload"] += found[one.gap] < 0
        assert check.agrees == (not outside and not uneven), seed
        assert check.change is None
        met["a place out"] += bool(outside and not uneven)
        met["not even"] += bool(uneven and not outside)
        met["both"] += bool(uneven and outside)
        met["as promised"] += check.agrees
    assert min(met["a place out"], met["not even"], met["as promised"]) >= share(12), met
    assert met["both"] >= share(44), met
    assert met["preload"] >= share(11), met
