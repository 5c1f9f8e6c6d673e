"""The JSON of `stock kit`: the kit that was chosen, each key declared once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from gapwright.fit.answer import CountedAnswer
from gapwright.output.answers import Answer, key
from gapwright.output.money import exact_money
from gapwright.stock.answer import PastDrumsAnswer, ShareAnswer
from specs.uncertainty.confidence import counted

if TYPE_CHECKING:
    from gapwright.stock.kit.service import KitReport
    from solver.stock.kit import ChosenKit


def _kit(kit: ChosenKit | None, report: KitReport) -> ChosenKitAnswer | None:
    return None if kit is None else ChosenKitAnswer(kit, report=report)


def _held_out(report: KitReport) -> HeldOutAnswer | None:
    if report.held_out is None:
        return None
    tried = report.held_out
    return HeldOutAnswer(
        counted(tried.served, tried.drums), served=tried.served, drums=tried.drums,
        only_to_the_limit=tried.only_to_limit,
    )  # fmt: skip


class ChosenKitAnswer(Answer):
    """One kit."""

    cost: str = key(lambda kit: exact_money(kit.cost))
    """What it costs, in the currency of the unit file; parts where there are no prices."""
    at_least: str = key(lambda kit: exact_money(kit.at_least))
    """What any kit that serves as many costs at least."""
    served: int
    """How many drums it serves, every gap clear of its limits."""
    only_to_the_limit: int = key(lambda kit, report: report.only_to_limit(kit))
    """How many it serves besides, but only up to the limit."""
    proved: bool
    """Whether it is proved the cheapest that serves so many."""
    contents: list[CountedAnswer] = key(
        lambda kit, report: [
            CountedAnswer(report.choices[choice], count=count)
            for choice, count in sorted(kit.contents.items())
        ]
    )
    """What is in it, by size."""


class PackWorthAnswer(Answer):
    """What a pack more or less of one size would do."""

    family: str = key(lambda part: part.family)
    """The family."""
    size: str = key(lambda part: part.size)
    """The size."""
    more: int
    """How many drums more a pack more would serve."""
    less: int
    """How many drums fewer a pack less would serve."""


class TriedAnswer(Answer):
    """Drums that a kit was tried on."""

    drums: int
    """How many they are."""
    served: int
    """How many of them it serves, every gap clear of its limits."""
    only_to_the_limit: int
    """How many it serves besides, but only up to the limit."""


class HeldOutAnswer(TriedAnswer, ShareAnswer):
    """What the kit does for drums that had no part in its choice."""


class StockKitAnswer(PastDrumsAnswer, shape="gapwright stock kit 2"):
    """The cheapest kit that serves a share of past drums."""

    wanted: int
    """How many drums are to be served."""
    can_be_served: int = key(lambda report: report.able)
    """How many some kit of the unit's sizes could serve, every gap clear of its limits."""
    only_to_the_limit: int = key(lambda report: report.able_only_to_limit)
    """How many some kit could serve besides, but none except up to the limit."""
    answer: Literal["kit", "no kit", "undecided"] = key(
        lambda report: "no kit" if report.hopeless else "kit" if report.kit else "undecided"
    )
    """Whether there is such a kit."""
    proved: bool = key(lambda report: bool(report.kit and report.kit.proved) or report.hopeless)
    """Whether the kit is proved the cheapest, or that there is none."""
    priced: bool
    """Whether the unit has prices; without, every part costs the same."""
    kit: ChosenKitAnswer | None = key(lambda report: _kit(report.kit, report))
    """The kit."""
    at_least: str | None = key(lambda report: report.kit and exact_money(report.kit.at_least))
    """What it costs at least."""
    worth: list[PackWorthAnswer] = key(
        lambda report: [
            PackWorthAnswer(worth, part=report.choices[worth.choice]) for worth in report.worths
        ]
    )
    """Of each size what a pack more or less would do."""
    held_out: HeldOutAnswer | None = key(_held_out)
    """What the kit does for drums held out from its choice; null where none were."""
    frontier: list[ChosenKitAnswer] = key(
        lambda report: [ChosenKitAnswer(kit, report=report) for kit in report.frontier]
    )
    """Kits that cost less or serve more, by cost."""


ANSWERS = {"stock kit": (StockKitAnswer,)}
