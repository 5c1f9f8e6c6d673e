"""Random jobs in which the room of a gap goes through a range, with the roads that takes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solver.apart import stands_apart
from solver.course import Course
from tests.oracles.compare import posed
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from solver.cover import Served
    from solver.task import Task

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
    task = posed(job.case())
    if not all(gap.layouts for gap in task.gaps):
        return None
    index = seed % len(task.gaps)
    rate = max(1, task.gaps[index].layouts[0].width // 3) * (-1 if seed % 5 == 0 else 1)
    both = seed % 7 == 0 and len(task.gaps) > 1
    moved = {index, (index + 1) % len(task.gaps)} if both else {index}
    rates = tuple(
        tuple(rate * (nth in moved) for _ in gap.layouts) for nth, gap in enumerate(task.gaps)
    )
    # The job's own value, at which an answer may have been planted, lies in the middle.
    course = Course(Course(task, rates, 1).at(-(VALUES // 2)), rates, VALUES)
    return Drawn(seed, course, job.roads | _roads(task, index, both=both))


def _roads(task: Task, index: int, *, both: bool) -> set[str]:
    apart = stands_apart(task, index)
    others = len(task.gaps) > 1
    found = {"two gaps move"} if both else set()
    found |= {"stands apart"} if apart and others else set()
    found |= {"belongs with others"} if not apart else set()
    return found | ({"rules"} if task.rules else set())


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


def plenty(task: Task, choice: int) -> Task:
    """One part more of a choice."""
    return replace(
        task,
        choices=tuple(
            replace(part, count=part.count + (nth == choice))
            for nth, part in enumerate(task.choices)
        ),
    )
