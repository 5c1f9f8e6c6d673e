"""Random jobs in which the room of a gap goes through a range, with the roads that takes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from random import Random
from typing import TYPE_CHECKING

from solver.problem.components import stands_apart
from solver.problem.parameter import Course
from specs.files.read import case_of
from specs.formats.yaml import parse
from tests.oracles.compare import posed
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.cover.covering import Served
    from solver.problem.instance import Instance

VALUES = 9


@dataclass(frozen=True, slots=True)
class Drawn:
    """A course, and the roads its job takes."""

    seed: int
    course: Course
    roads: frozenset[str]


def random_course(seed: int, size: int) -> Drawn | None:
    """Draw a job and move the room of a gap, or of two; nothing where one has no layout."""
    job = random_job(seed, size)
    instance = posed(job.case())
    if not all(gap.layouts for gap in instance.gaps):
        return None
    index = seed % len(instance.gaps)
    rate = max(1, instance.gaps[index].layouts[0].width // 3) * (-1 if seed % 5 == 0 else 1)
    both = seed % 7 == 0 and len(instance.gaps) > 1
    moved = {index, (index + 1) % len(instance.gaps)} if both else {index}
    rates = tuple(
        tuple(rate * (nth in moved) for _ in gap.layouts) for nth, gap in enumerate(instance.gaps)
    )
    # The job's own value, at which an answer may have been planted, lies in the middle.
    course = Course(Course(instance, rates, 1).at(-(VALUES // 2)), rates, VALUES)
    return Drawn(seed, course, job.roads | _roads(instance, index, both=both))


def _roads(instance: Instance, index: int, *, both: bool) -> set[str]:
    apart = stands_apart(instance, index)
    others = len(instance.gaps) > 1
    found = {"two gaps move"} if both else set()
    found |= {"stands apart"} if apart and others else set()
    found |= {"belongs with others"} if not apart else set()
    return found | ({"rules"} if instance.rules else set())


def steady_course(seed: int) -> Course:
    """A pack that moves while two end plays that hold one washer stand."""
    rng = Random(seed)  # noqa: S311 - no secret hangs on it
    room, opens = "space: r, readings: {r: room}", "{part: drum hub, factor: -1}"
    first, second = rng.choice([10, 13, 16]), rng.choice([10, 14, 18])
    text = f"""\
length: mm
unit:
  families:
    ring: {{kind: ring, sizes: [1.5, 1.7, 1.9]}}
    hub: {{kind: washer, sizes: [1.0, 1.15, 1.3, 1.6]}}
    end: {{kind: washer, sizes: [1.0, 1.2, 1.4, 1.8]}}
  shared parts: {{drum hub: hub}}
  packs:
    low: {{window: 0.2 to 0.5, {room}, stack: [ring]}}
  end plays:
    front: {{window: 0.1 to 0.{rng.randint(4, 9)}, {room}, stack: [drum hub, end]}}
    rear: {{window: 0.1 to 0.{rng.randint(3, 7)}, {room}, stack: [{opens}, end]}}
shelf: {{ring: {{1.5: 1, 1.7: 1, 1.9: 1}}, hub: {{1.0: 1, 1.15: 1, 1.3: 1, 1.6: 1}},
  end: {{1.0: 1, 1.2: 2, 1.4: 1, 1.8: 1}}}}
job:
  gaps:
    low: {{readings: {{r: 1.6}}}}
    front: {{readings: {{r: {(first + second + rng.randint(0, 6)) / 10}}}}}
    rear: {{readings: {{r: {(rng.randint(0, 6)) / 10}}}}}
"""
    instance = posed(case_of(parse(text, "steady.yaml")))
    rate = max(1, instance.gaps[0].layouts[0].width // 15)
    return Course(instance, ((rate,), (0,), (0,)), 35)


def roads_seen(served: tuple[Served, ...]) -> Counter[str]:
    """What the answers of one course show."""
    marks = "".join({"fit": "#", "no fit": ".", "unknown": "?"}[one.status] for one in served)
    return Counter(
        {
            "values that fit": marks.count("#"),
            "values that do not": marks.count("."),
            "courses with a hole": "#." in marks and "#" in marks[marks.index("#.") + 1 :],
        }
    )


def plenty(instance: Instance, choice: int) -> Instance:
    """One part more of a choice."""
    return replace(
        instance,
        choices=tuple(
            replace(part, count=part.count + (nth == choice))
            for nth, part in enumerate(instance.choices)
        ),
    )
