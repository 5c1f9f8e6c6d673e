"""The trial build to make next for a gap that reads nothing, against every build there is.

For each random job whose gap is read by a trial build, the reading is put to nothing. Every build
from what is on hand is tried: the spaces that one of them serves are the drums that may be on the
bench, and in each the proposed trial build is put together in plain sums.
"""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from gapwright.fit.no_reading import no_readings
from solver.engines.limits import Clock, Limits
from specs.gaps.job_gap import JobGap
from tests.amounts import few, share
from tests.oracles.against_brute import MOST_ASSIGNMENTS
from tests.oracles.brute_files import fixed_in, own_space
from tests.oracles.brute_force import Brute
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.no_reading import NextTrial
    from specs.models.case import Case
    from tests.oracles.random_jobs import RandomJob

SEEDS = few(range(3_000))
FLOORS = {
    "filled": 150,
    "left out": 15,
    "not sure": 15,
    "blades": 30,
    "below zero": 20,
    "several layouts": 50,
    "shims": 40,
    "another space": 10,
}


@dataclass(frozen=True, slots=True)
class Drum:
    """What a build from what is on hand asks of the drum it is to serve."""

    lower: Fraction
    """How much lower its stack is than the trial build's, in nanometres."""
    needs: Fraction
    """What the trial build must leave at least where it lands in its window."""


def test_the_next_trial_build_leaves_something_in_every_drum_that_can_be_built() -> None:
    wrong: list[str] = []
    roads: Counter[str] = Counter()
    for seed in SEEDS:
        job = random_job(seed)
        for gap in job.document["job"]["gaps"]:
            for tried in _tried(job, gap, blades=seed % 2 == 0):
                wrong += [f"seed {seed}, {gap}: {one}" for one in tried.differences()]
                roads.update(tried.roads())
    assert wrong == []
    assert {road: roads[road] for road, floor in FLOORS.items() if roads[road] < share(floor)} == {}


@dataclass(frozen=True, slots=True)
class Tried:
    """A gap put to nothing, with what is proposed and what can be built."""

    job: RandomJob
    gap: str
    blades: bool
    case: Case
    proposed: NextTrial | None
    drums: tuple[Drum, ...]

    def differences(self) -> Iterator[str]:
        """Yield everything in which the proposal is not what the drums ask."""
        trial = self.proposed
        if trial is None:
            if self.drums and not self._height():
                yield "nothing is proposed"
            return
        if self._height():
            yield "proposed where a stack counts the other way round"
            return
        lower = self._lower(trial)
        if trial.looser.nm != lower:
            yield f"{trial.looser.nm} looser, and it is {lower} lower"
        most = max(drum.lower for drum in self.drums)
        if lower < most or (not trial.left_out and lower != most):
            yield f"{lower} lower, and the lowest build is {most}"
        least = min(drum.needs for drum in self.drums) + lower
        if trial.leaves.nm != least:
            yield f"leaves {trial.leaves.nm}, and the tightest drum leaves {least}"
        tells = JobGap(self.case, self.gap).case.tells(None).nm
        reads = all(drum.needs + lower > tells for drum in self.drums)
        if trial.sure != (reads and lower > 0):
            yield f"sure: {trial.sure}, and it reads in every drum: {reads}"

    def roads(self) -> Iterator[str]:
        """Yield what was met."""
        trial = self.proposed
        if trial is None:
            return
        yield ("left out" if trial.left_out else "filled") if trial.sure else "not sure"
        yield from ["blades"] * (self.blades and trial.sure)
        written = self.case.unit.gaps[self.gap]
        layouts = written.arrangements.values()
        yield from ["below zero"] * any(
            layout.window.gap.low is not None and layout.window.gap.low.nm < 0 for layout in layouts
        )
        yield from ["several layouts"] * (len(JobGap(self.case, self.gap).layouts) > 1)
        yield from ["another space"] * (len({layout.space.text for layout in layouts}) > 1)
        yield from ["shims"] * any(len(here) != 1 for here in trial.build.parts)

    def _height(self) -> bool:
        layouts = JobGap(self.case, self.gap).layouts.values()
        return any(layout.window.on == "height" for layout in layouts)

    def _lower(self, trial: NextTrial) -> Fraction:
        """By how much the space grows smaller where the proposed build is written as the trial."""
        layout = next(iter(JobGap(self.case, self.gap).layouts))
        document = deepcopy(self.job.document)
        work = document["job"]["gaps"][self.gap]
        before = own_space(_at_zero(self.job, self.gap), self.gap, layout)
        parts = [[*texts] for texts in trial.build.parts]
        if "parts" in document["job"]:  # where these measured worn, new ones are in it
            goes_in = fixed_in(self.case, "friction").nm / 10**6
            document["job"]["parts"]["friction"] = f"{float(goes_in)} mm"
        work["trial"] = {"layout": trial.build.layout, "parts": parts}
        after = own_space(
            _at_zero(replace(self.job, document=document), self.gap), self.gap, layout
        )
        return before - after


def _tried(job: RandomJob, gap: str, *, blades: bool) -> Iterator[Tried]:
    """Put a gap to nothing, where it is read by a trial build and can be tried out."""
    work = job.document["job"]["gaps"][gap]
    if "gap" not in work.get("readings", {}):
        return
    low = _at_zero(job, gap).unit.gaps[gap].arrangements.values()
    below = any(lay.window.gap.low is not None and lay.window.gap.low.nm < 0 for lay in low)
    case = _at_zero(job, gap, taken={"stops": "0.05 mm"} if blades or below else "0 mm")
    found = no_readings(case, Clock(Limits()))
    assert found.keys() == ({gap} if JobGap(case, gap).layouts else set())
    brute = Brute(_at_zero(job, gap), (gap,))
    if found and brute.size <= MOST_ASSIGNMENTS:
        drums = tuple(_drums(job, gap, brute))
        yield Tried(job, gap, blades, case, found[gap].trial, drums)


def _at_zero(job: RandomJob, gap: str, taken: object = None) -> Case:
    """The job with the gap's reading at zero, as a figure or as it is taken."""
    document = deepcopy(job.document)
    unit = document["unit"]
    spec = {**unit["packs"], **unit["end plays"]}[gap]
    spec["readings"]["gap"]["signed"] = "no" if taken else "yes"
    document["job"]["gaps"][gap]["readings"]["gap"] = taken or "0 mm"
    return replace(job, document=document).case()


def _drums(job: RandomJob, gap: str, brute: Brute) -> Iterator[Drum]:
    """Yield what each allowed build asks of its drum."""
    case, times = _at_zero(job, gap), brute.stacks.times
    for filling in brute.fillings(gap):
        if brute.worth((filling,), windows=False) is None:
            continue
        layout = case.unit.gaps[gap].arrangements[filling.stack.name]
        fixed = sum(
            (fixed_in(case, place.part).nm * place.factor
             for place in layout.stack
             if case.unit.family_of(place.part).fixed is not None),
            Fraction(0),
        )  # fmt: skip
        taken = Fraction(filling.stack.room - filling.gap, times)
        low = Fraction(filling.stack.low or 0, times)
        trial = _trial_height(case, gap)
        yield Drum(trial - taken - fixed, low - Fraction(filling.gap, times))


def _trial_height(case: Case, gap: str) -> Fraction:
    """The height of the trial build that was tried, summed from its texts' thicknesses."""
    layout = next(iter(JobGap(case, gap).layouts))
    text = case.unit.gaps[gap].arrangements[layout].space.text
    rest = text.partition("trial stack + gap")[2].removeprefix(" + ")
    off = Fraction(0)
    for term in filter(None, rest.split(" + ")):
        off += case.job.readings["gasket"].average.nm if term == "gasket" else _mm(term)
    return own_space(case, gap, layout) - off


def _mm(text: str) -> Fraction:
    return Fraction(text.removesuffix(" mm")) * 1_000_000
