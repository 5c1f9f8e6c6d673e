"""The JSON of `kit check` and `kit pack`, each key declared once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from gapwright.cover.answer import CoveredAnswer
from gapwright.fit.answer import FitAnswer, NoFitAnswer, UndecidedAnswer, solved_answer
from gapwright.output.answers import Answer, key
from gapwright.output.money import exact_money
from gapwright.record.former_units_answer import UncountedJobAnswer
from gapwright.shelf.answer import PostedAnswer
from specs.parts.kit_contents import also_held, gaps_of, kit_of

if TYPE_CHECKING:
    from specs.parts.kit_contents import Sizes


def _sizes(sizes: Sizes) -> list[HeldAnswer]:
    return [
        HeldAnswer(family=family, size=size, count=count) for (family, size), count in sizes.items()
    ]


class HeldAnswer(Answer):
    """So many parts of one size."""

    family: str
    """The family."""
    size: str | None
    """The size; null where the family has none to choose from."""
    count: int
    """How many."""


class NotCoveredAnswer(Answer):
    """A gap that cannot be gone through."""

    gap: str
    """The gap's name."""
    why: str
    """Why not, in words."""


class TakesAnswer(Answer):
    """How many parts are taken."""

    at_least: int = key(lambda need: need.least)
    """At least so many."""
    at_most: int = key(lambda need: need.most)
    """At most so many."""


class ShortAnswer(Answer):
    """A family with fewer parts in the kit than the gaps take."""

    family: str
    """The family."""
    held: int
    """How many the kit holds."""
    takes: TakesAnswer = key(lambda lack: TakesAnswer(lack.need))
    """How many the gaps take, which hangs on their layouts."""


class LeftOutAnswer(Answer):
    """A part that every overhaul replaces, and of which the kit holds too few."""

    part: str = key(lambda part: part.name)
    """The part."""
    held: int
    """How many the kit holds."""
    count: int
    """How many are replaced."""
    because: str
    """Why they always are."""
    said_by: Literal["unit", "kit"]
    """Which file says so."""


class KitPastAnswer(Answer):
    """Past drums that the kit serves, each with some gaps out of one kit."""

    gaps: list[str]
    """The gaps the history has and the kit is for."""
    drums: int
    """How many drums there are."""
    served: int
    """How many are served."""
    only_to_the_limit: int = key(lambda past: past.only_to_limit)
    """How many of those served are so only up to the limit."""
    jobs_not_counted: list[UncountedJobAnswer] = key(
        lambda past: [*map(UncountedJobAnswer, past.uncounted)]
    )
    """Kept jobs that do not count, with the reason."""


class LeftOverAnswer(Answer):
    """A job built from the kit."""

    fit: FitAnswer | NoFitAnswer | UndecidedAnswer = key(lambda job: solved_answer(job.report))
    """Its answer, as of `gapwright fit`."""
    used: list[HeldAnswer] = key(lambda job: _sizes(job.used))
    """What it takes."""
    left_over: list[HeldAnswer] = key(lambda job: _sizes(job.left))
    """What it leaves over."""


class KitCheckAnswer(Answer, shape="gapwright kit check 2"):
    """What a kit covers and what it lacks."""

    kit: str = key(lambda check: kit_of(check.case).name)
    """The kit's name."""
    unit: str = key(lambda check: check.case.unit.name)
    """The unit's name."""
    for_: list[str] = key(lambda check: [*gaps_of(check.case)])
    """The gaps it is for."""
    with_: list[str] = key(lambda check: check.options)
    """The options taken with it."""
    complete: bool = key(lambda check: check.complete and not check.undecided)
    """Whether every gap is covered without a hole and nothing that is needed is missing."""
    decided: bool = key(lambda check: not check.undecided)
    """Whether that was decided before time ran out."""
    contents: list[HeldAnswer] = key(lambda check: _sizes(check.contents))
    """What is in it, by size."""
    also_in_it: dict[str, int] = key(lambda check: dict(also_held(check.case, check.options)))
    """What is in it besides, by name."""
    price: str | None = key(lambda check: None if check.price is None else exact_money(check.price))
    """What its priced parts come to, in the currency of the unit file."""
    without_a_price: list[str] = key(lambda check: check.unpriced)
    """The families of the others."""
    covers: list[CoveredAnswer] = key(lambda check: [*map(CoveredAnswer, check.covers)])
    """For each gap what is served, each alone with the whole kit."""
    not_covered: list[NotCoveredAnswer] = key(
        lambda check: [NotCoveredAnswer(gap=gap, why=why) for gap, why in check.not_covered]
    )
    """Gaps that cannot be gone through."""
    nothing_to_choose: list[str]
    """Gaps that are only checked."""
    short: list[ShortAnswer] = key(lambda check: [*map(ShortAnswer, check.lacks)])
    """Families with fewer parts than the gaps take."""
    left_out: list[LeftOutAnswer] = key(lambda check: [*map(LeftOutAnswer, check.left_out)])
    """Parts that are always replaced and not in it."""
    history: KitPastAnswer | None = key(lambda check: check.past and KitPastAnswer(check.past))
    """With `--history`: the past drums it serves."""
    job: LeftOverAnswer | None = key(lambda check: check.job and LeftOverAnswer(check.job))
    """With `--job`: that job, built from it."""


class KitPackAnswer(Answer, shape="gapwright kit pack 1"):
    """Kits drawn from a shelf's ledger."""

    kit: str = key(lambda packed: kit_of(packed.packing.case).name)
    """The kit's name."""
    count: int = key(lambda packed: packed.packing.count)
    """How many kits."""
    with_: list[str] = key(lambda packed: packed.packing.options)
    """The options taken with it."""
    job: str = key(lambda packed: packed.packing.name)
    """Under which name the parts left the shelf."""
    by_hand: list[HeldAnswer] = key(lambda packed: _sizes(packed.by_hand))
    """What is put in by hand, for the shelf does not keep it."""
    posted: PostedAnswer = key(lambda packed: PostedAnswer(packed.posted))
    """What the ledger has of it."""


ANSWERS = {"kit check": (KitCheckAnswer,), "kit pack": (KitPackAnswer,)}
