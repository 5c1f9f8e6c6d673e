"""The instance for a choice of stock: a unit with every size in plenty, and past drums' rooms."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from gapwright.output.money import WHOLE
from solver.builds.enumeration import TooManyError
from solver.problem.from_case import instance_of
from solver.rebuild.clear_of_limits import all_narrowed
from solver.stock.demand_patterns import drums_of
from solver.stock.kit import Offer
from specs.errors import InputError, Problem
from specs.findings import near
from specs.gaps.varied_reading import move_space
from specs.models.lot import Lot
from specs.values.lengths import ZERO

if TYPE_CHECKING:
    from solver.problem.instance import Instance
    from solver.stock.demand_patterns import Drum, Spaces
    from specs.files.history import History
    from specs.models.case import Case
    from specs.values.lengths import Length

PLENTY = 99  # more parts of a size than any drum takes


def gaps_of(case: Case, history: History) -> tuple[str, ...]:
    """Return the gaps that a history has spaces of.

    Raises InputError where a column of the history is no gap of the unit.
    """
    unknown = [name for name in history.columns if name not in case.unit.gaps]
    if unknown:
        sentence = near(unknown[0], [*case.unit.gaps], "packs and end plays")
        raise InputError(Problem(sentence, history.file, 1))
    return tuple(name for name in case.unit.gaps if name in history.columns)


def too_many(case: Case) -> InputError:
    """Return the refusal of a unit with a gap whose builds are too many to list."""
    return InputError(_problem(case, "a gap has too many ways to be filled to choose its stock"))


def posed(
    case: Case, gaps: tuple[str, ...], *histories: History
) -> tuple[Instance, list[dict[Spaces, int]]]:
    """Build the instance of a unit for a choice of stock, and the drums of some histories.

    Parameters
    ----------
    case
        The unit's files as read.
    gaps
        The names of the gaps to choose for.
    histories
        Tables of past drums, each with a space for every one of the gaps.

    Returns
    -------
    instance
        The unit with PLENTY of every size and no room in its gaps.
    list of dict
        For each history, how many drums have which rooms, in steps, in the order of the gaps.

    Raises
    ------
    InputError
        Where a rule counts parts of several gaps together, or a drum lacks a space.
    """
    for name in gaps:
        case = move_space(case, name).case
    lots = tuple(
        Lot(name, size, spec.nominal, PLENTY)
        for name, family in case.unit.families.items()
        for size, spec in family.sizes.items()
    )
    known = [_known(gaps, history) for history in histories]
    spaces = {space for rows in known for row in rows for space in row}
    instance = _narrowed(case, instance_of(case, lots, gaps, also=spaces | {ZERO}))
    return instance, [
        {tuple(int(space.nm / instance.step) for space in row): n for row, n in rows.items()}
        for rows in known
    ]


def _narrowed(case: Case, instance: Instance) -> Instance:
    """Turn each rule over the whole job, whose parts stand in one gap, into a rule of that gap.

    Raises InputError where they stand in several: patterns are chosen gap by gap.
    """
    rules = []
    for rule in instance.rules:
        bound = [nth for nth, gap in enumerate(instance.gaps) if rule.binds(gap)]
        if len(bound) > 1:
            places = " and ".join(instance.gaps[nth].name for nth in bound)
            sentence = f'the rule "{rule.words}" counts parts of {places} together'
            raise InputError(_problem(case, f"{sentence}; for a choice of stock say `in` which"))
        if rule.gap >= 0 or bound:
            rules.append(replace(rule, gap=bound[0]) if bound else rule)
    return replace(instance, rules=tuple(rules))


def drums_in(
    case: Case, gaps: tuple[str, ...], *histories: History
) -> tuple[Instance, list[Counter[Drum]], list[Counter[Drum]]]:
    """Return the instance of a unit, and the drums of each history by the patterns that serve them.

    They are returned twice: by all patterns, and by those alone that keep every gap clear of its
    limits. What is served by the former and not by the latter is served only up to the limit.

    Parameters
    ----------
    case
        The unit's files as read.
    gaps
        The names of the gaps to choose for.
    histories
        Tables of past drums, each with a space for every one of the gaps.

    Raises
    ------
    InputError
        Where a rule counts parts of several gaps together, a drum lacks a space, or a gap has too
        many builds to list.
    """
    instance, rows = posed(case, gaps, *histories)
    try:
        found = [drums_of(instance, one) for one in rows]
        clear = all_narrowed(instance)
        return instance, found, [drums_of(clear, one) for one in rows]
    except TooManyError:
        raise too_many(case) from None


def _known(gaps: tuple[str, ...], history: History) -> Counter[tuple[Length, ...]]:
    """Count drums by their spaces in the order of the gaps.

    Raises InputError where one lacks some.
    """
    found: Counter[tuple[Length, ...]] = Counter()
    for row, count in history.rows.items():
        ordered = (row[history.columns.index(name)] for name in gaps)
        spaces = tuple(space for space in ordered if space is not None)
        if len(spaces) < len(gaps):
            sentence = "a drum without all its spaces; fill every column, or leave the drum out"
            raise InputError(Problem(sentence, history.file))
        found[spaces] += count
    return found


def offers_of(case: Case, instance: Instance) -> tuple[dict[int, Offer], bool]:
    """Return how each size is sold, by its choice, and whether the unit states prices.

    Without prices every part costs the same. Raises InputError where only some sizes have a price.
    """
    families = {
        place.family for gap in instance.gaps for lay in gap.layouts for place in lay.places
    }
    mine = {nth: part for nth, part in enumerate(instance.choices) if part.family in families}
    lacking = [part for part in mine.values() if part.price is None]
    if lacking and len(lacking) < len(mine):
        part = lacking[0]
        raise InputError(_problem(case, f"{part.family} {part.size} has no price; others have one"))
    offers = {}
    for nth, part in mine.items():
        sold_in = case.unit.families[part.family].sizes[part.size].sold_in
        offers[nth] = Offer(WHOLE if part.price is None else part.price, sold_in)
    return offers, not lacking


def _problem(case: Case, sentence: str) -> Problem:
    return Problem(sentence, case.origins["unit"].source.file)
