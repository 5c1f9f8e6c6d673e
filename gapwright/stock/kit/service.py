"""The service of `stock kit`: the cheapest kit that serves enough of past drums, and its file."""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from gapwright.output.files import check_ending, check_folder, check_new, put
from gapwright.record.former_units import former_units
from gapwright.stock.instance import drums_in, gaps_of, offers_of
from gapwright.stock.past_drums import parted, past_of
from solver.engines.limits import Clock, Limits
from solver.stock.demand_patterns import servable, served
from solver.stock.kit import ChosenKit, Kits, PackWorth
from specs.files.read import read_unit_alone
from specs.formats.yaml import parse
from specs.formats.yaml_text import written

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from gapwright.record.former_units import FormerUnits
    from solver.problem.gaps import LotChoice
    from solver.stock.demand_patterns import Drum
    from specs.files.history import History, Uncounted
    from specs.models.case import Case
    from specs.values.lengths import LengthUnit

FEWEST = 30
"""Drums of which a third is held out."""
USUAL_SHARE = Fraction(95, 100)
SEED = 1
"""By which drums are held out unless another seed is stated."""
ENDINGS = (".yaml", ".yml")
"""Of a kit file."""


@dataclass(frozen=True, slots=True)
class HeldOut:
    """Drums that had no part in a choice, and how many of them the kit serves."""

    served: int
    only_to_limit: int
    """How many it serves besides, but only up to the limit."""
    drums: int


@dataclass(frozen=True, slots=True)
class KitReport:
    """The kit that was chosen, with every finding around it."""

    case: Case
    choices: tuple[LotChoice, ...]
    gaps: tuple[str, ...]
    """The gaps the history has spaces of; each drum takes the parts of all of them."""
    aside: tuple[str, ...]
    drums: int
    able: int
    """How many drums some kit of the unit's sizes could serve, every gap clear of its limits."""
    wanted: int
    priced: bool
    """Whether the unit has prices; without, every part costs the same."""
    kit: ChosenKit | None
    """None where no kit serves so many, or time ran out first."""
    frontier: tuple[ChosenKit, ...]
    worths: tuple[PackWorth, ...]
    to_limit: Mapping[Drum, int] = field(repr=False)
    """The drums by all patterns, those that reach up to the limits too."""
    held_out: HeldOut | None = None
    """What the kit does for drums kept from every choice."""
    drawn: tuple[str, ...] = ()
    """Gaps whose spaces were drawn, not measured."""
    independent: bool = False
    """Whether spaces of different places were put together at random."""
    uncounted: tuple[Uncounted, ...] = ()
    """Kept jobs that do not count, with the reason."""

    @property
    def length(self) -> LengthUnit:
        """The unit file's unit of length."""
        return self.case.length

    @property
    def hopeless(self) -> bool:
        """Whether no kit of the unit's sizes serves as many drums as asked for."""
        return self.able < self.wanted

    @property
    def able_only_to_limit(self) -> int:
        """The number of drums that some kit serves, but none clear of the limits."""
        return servable(self.to_limit) - self.able

    def only_to_limit(self, kit: ChosenKit) -> int:
        """Count the drums that a kit serves besides, but only up to the limit."""
        return served(self.to_limit, kit.contents) - kit.served


def choose_kit(
    unit: Path,
    history: Sequence[Path | str] = (),
    share: Fraction = USUAL_SHARE,
    limits: Limits | None = None,
    seed: int | None = SEED,
) -> KitReport:
    """Choose the cheapest kit that serves a share of past drums.

    Parameters
    ----------
    unit
        The file of the unit, with its prices.
    history
        Folders of job files, ledgers, or tables of past drums' spaces; of a gap without one the
        drums are drawn from its `spaces` in the unit file.
    share
        Of the drums how many to serve: above 0, 1 at most.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    seed
        By which a third of 30 drums or more is held out from the choice, and the kit tried on it;
        None to choose by all drums.

    Returns
    -------
    KitReport
        The kit, what it costs and serves, what a pack more or less would do, and the frontier.

    Raises
    ------
    InputError
        With all that is wrong with the files.

    """
    case = read_unit_alone(unit)
    former = [former_units(one, case) for one in history]
    return kit_of_past(case, former, share, limits, seed)


def kit_of_past(
    case: Case,
    histories: Sequence[FormerUnits],
    share: Fraction,
    limits: Limits | None = None,
    seed: int | None = SEED,
) -> KitReport:
    """Choose the kit for the drums of some histories; of many a third is held out from the choice.

    Parameters
    ----------
    case
        The unit's files as read.
    histories
        Kept jobs and tables of past drums.
    share
        The share of the drums to serve: above 0, 1 at most.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    seed
        The seed by which drums are held out, of FEWEST drums or more; None to choose by all.

    Raises
    ------
    InputError
        With what is wrong with the files.
    """
    past = past_of(case, histories, SEED if seed is None else seed)
    if seed is None or past.history.rows.total() < FEWEST:
        report = kit_case(case, past.history, share, limits)
    else:
        chosen_by, out = parted(past.history, seed)
        report = kit_case(case, chosen_by, share, limits, out)
    return replace(report, drawn=past.drawn, independent=past.independent, uncounted=past.uncounted)


def kit_case(
    case: Case,
    history: History,
    share: Fraction,
    limits: Limits | None = None,
    out: History | None = None,
) -> KitReport:
    """Choose the cheapest kit that serves at least a share of the drums, and try it on others.

    A drum counts as served where some build keeps every gap clear of its limits.

    Parameters
    ----------
    case
        The unit's files as read.
    history
        The drums to choose by.
    share
        The share of them to serve: above 0, 1 at most.
    limits
        How long to search, on how many cores; 60 seconds on one unless stated.
    out
        Drums held out from the choice, to try the kit on.

    Raises
    ------
    InputError
        Where the unit or a history does not suit a choice of stock.
    """
    clock = Clock(limits or Limits())
    gaps = gaps_of(case, history)
    instance, to_limit, clear = drums_in(case, gaps, history, *([out] if out else []))
    drums = clear[0]
    offers, priced = offers_of(case, instance)
    kits = Kits(drums, offers)
    wanted = ceil(share * drums.total())
    kit = kits.cheapest(wanted, clock) if kits.able >= wanted else None
    return KitReport(
        case, instance.choices, gaps, tuple(n for n in case.unit.gaps if n not in gaps),
        drums.total(), kits.able, wanted, priced, kit,
        _with(kit, kits.frontier(drums.total() // 2, clock)) if kit else (),
        tuple(kits.worths(kit)) if kit else (),
        to_limit[0], _held_out(kit, to_limit[1], clear[1]) if kit and out else None,
    )  # fmt: skip


def _held_out(kit: ChosenKit, to_limit: Counter[Drum], clear: Counter[Drum]) -> HeldOut:
    number = served(clear, kit.contents)
    return HeldOut(number, served(to_limit, kit.contents) - number, clear.total())


def _with(kit: ChosenKit, frontier: list[ChosenKit]) -> tuple[ChosenKit, ...]:
    """Return a frontier with a kit on it, and without the kits that are no better."""
    others = (one for one in frontier if one.cost < kit.cost or one.served > kit.served)
    return tuple(sorted((kit, *others), key=lambda one: one.cost))


def check_kit_file(file: Path, *, replace: bool) -> None:
    """Check that a kit can be written to a file, before one is looked for. Raises InputError.

    With `replace` a file that stands there may be replaced.
    """
    check_ending(file, ENDINGS, "a kit file .yaml")
    check_new(file, replace=replace)
    check_folder(file)


def write_kit(report: KitReport, file: Path, *, replace: bool) -> bool:
    """Write the kit that was chosen to a file.

    Parameters
    ----------
    report
        The report with the kit.
    file
        The file to write.
    replace
        Whether a file that stands there may be replaced.

    Returns
    -------
    bool
        Whether a kit was written; False where there is none, or nothing in it.

    Raises
    ------
    InputError
        Where the file cannot be written.
    """
    if report.kit is None or not report.kit.contents:
        return False
    contents: dict[str, dict[str, int]] = {}
    for choice, count in sorted(report.kit.contents.items()):
        part = report.choices[choice]
        contents.setdefault(part.family, {})[part.size] = count
    unit = os.path.relpath(report.case.origins["unit"].source.file, file.parent)
    kit = {"name": f"{report.case.unit.name} kit", "contents": contents}
    text = written({"unit": unit.replace(os.sep, "/"), "kit": kit})
    parse(text, str(file))
    put(text, file, replace=replace)
    return True
