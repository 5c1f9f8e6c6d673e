"""The sheet of a kit as data: the parts to tick off, and all that fitting them asks for.

It lists the parts, when each option is taken, and what is replaced and why. For each pack and end
play it states the window, the readings and how to take them, and how the finished gap is checked.
The last part is the adjustment of the bands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.drawing.qr import qr_code
from gapwright.fit.gap_text import limits_words, measure_steps, measured_name, state_words
from gapwright.paper.bands import band_cards, beside
from gapwright.paper.job_sheet import CAUTIONS, FEWEST_BLANKS, MOST_BLANKS, NO_CHECK
from specs.errors import shortened
from specs.files.digest import made_from
from specs.gaps.job_gap import JobGap, described, expected_state
from specs.models.kit import ONE_THICKNESS
from specs.parts.kit_contents import gaps_of, held, kit_of, replaced_in, sizes_of
from specs.values.lengths import show

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from gapwright.drawing.svg import Svg
    from gapwright.paper.bands import BandCard
    from specs.models.case import Case
    from specs.models.gaps import Arrangement, Gap
    from specs.parts.kit_contents import Sizes
    from specs.values.lengths import LengthUnit


TITLE = "gapwright kit sheet"


@dataclass(frozen=True, slots=True)
class Item:
    """Parts to tick off: their number, name and thickness, and the mark they bear."""

    count: int
    name: str
    thickness: tuple[str, str]
    """In both units; empty for a part that is not chosen by thickness."""
    mark: str


@dataclass(frozen=True, slots=True)
class Taking:
    """An option of a kit: when it is taken, and the parts in it."""

    name: str
    when: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class ReadingToTake:
    """A reading to take: its gauge and state, and a blank for each place."""

    name: str
    what: str
    gauge: str
    state: tuple[str, ...]
    places: range


@dataclass(frozen=True, slots=True)
class Target:
    """The window to aim for in one layout."""

    layout: str
    """With its condition; empty where there is only one."""
    windows: tuple[str, str]
    state: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GapCard:
    """One pack or end play on a kit's sheet: its windows, its readings and its check."""

    name: str
    what: str
    targets: tuple[Target, ...]
    trial: str
    readings: tuple[ReadingToTake, ...]
    allowances: tuple[str, ...]
    check: str
    out_first: str
    note: str


@dataclass(frozen=True, slots=True)
class KitSheet:
    """The contents of the sheet of one kit."""

    kit: str
    unit: str
    day: str
    note: str
    id: str
    code: Svg
    items: tuple[Item, ...]
    options: tuple[Taking, ...]
    replaced: tuple[tuple[str, int, str], ...]
    gaps: tuple[GapCard, ...]
    bands: tuple[BandCard, ...]
    cautions: tuple[str, ...]


def kit_sheet(case: Case, day: date, unit: LengthUnit | None = None) -> KitSheet:
    """Lay out the sheet of a case's kit.

    Parameters
    ----------
    case
        The kit's files as read.
    day
        The day to print on the sheet.
    unit
        The unit of length that comes first, that of the files unless stated; the other follows.
    """
    first = unit or case.length
    kit, name = kit_of(case), made_from(case)
    return KitSheet(
        kit=kit.name,
        unit=case.unit.name,
        day=day.isoformat(),
        note=kit.note or "",
        id=name,
        code=qr_code(f"gapwright {shortened(kit.name)} {name}"),
        items=tuple(_items(case, held(case), kit.also_in_it, first)),
        options=tuple(_options(case, first)),
        replaced=tuple((name, p.count, p.because) for name, (p, _) in replaced_in(case).items()),
        gaps=tuple(_measured(case, name, first) for name in gaps_of(case)),
        bands=band_cards(case.unit, first),
        cautions=CAUTIONS,
    )


def _items(case: Case, sizes: Sizes, also: Mapping[str, int], unit: LengthUnit) -> Iterator[Item]:
    for (name, size), count in sizes.items():
        family = case.unit.families[name]
        called = f"{name} ({family.also_called})" if family.also_called else name
        if size == ONE_THICKNESS:
            yield Item(count, called, ("", ""), "")
            continue
        spec = family.sizes[size]
        thickness = show(spec.nominal, unit), show(spec.nominal, beside(unit))
        yield Item(count, f"{called} {size}", thickness, spec.mark or "")
    yield from (Item(count, name, ("", ""), "") for name, count in also.items() if count)


def _options(case: Case, unit: LengthUnit) -> Iterator[Taking]:
    length = case.origins["kit"].length
    for name, option in kit_of(case).options.items():
        sizes = sizes_of(case.unit, option.contents, length)
        yield Taking(name, option.when, tuple(_items(case, sizes, option.also_in_it, unit)))


def _measured(case: Case, name: str, unit: LengthUnit) -> GapCard:
    gap = case.unit.gaps[name]
    layouts = JobGap(case, name).layouts or gap.arrangements
    return GapCard(
        name=name,
        what=_what(gap, layouts),
        targets=tuple(_targets(layouts, unit)),
        trial=_trial(gap, layouts),
        readings=tuple(_readings(case, gap, layouts)),
        allowances=tuple(_allowances(gap, unit)),
        check="; ".join(measure_steps(gap.measure)) or NO_CHECK,
        out_first=", ".join(gap.reach.out_first),
        note=gap.note or "",
    )


def _what(gap: Gap, layouts: Mapping[str, Arrangement]) -> str:
    """Name what is measured; each where layouts differ."""
    windows = (layout.window for layout in layouts.values())
    names = (measured_name(one.on, one.target, pack=gap.of_pack) for one in windows)
    return " or ".join(dict.fromkeys(names))


def _targets(layouts: Mapping[str, Arrangement], unit: LengthUnit) -> Iterator[Target]:
    """Yield the windows of a gap: one, or one for each layout where they differ."""
    windows = {name: layout.window for name, layout in layouts.items()}
    same = all(window == next(iter(windows.values())) for window in windows.values())
    for name, window in windows.items():
        ends = layouts[name].lowest, window.gap.high, window.target
        first, other = (f"{limits_words(*ends, one)} {one}" for one in (unit, beside(unit)))
        on = ["on the height of the stack"] * (window.on == "height")
        yield Target(
            "" if same else name + _condition(layouts[name]),
            (first, other),
            (*on, *state_words(window.state)),
        )
        if same:
            return


def _condition(layout: Arrangement) -> str:
    facts = ", ".join(f"{fact} {' or '.join(values)}" for fact, values in layout.only_if.items())
    because = f"; {layout.because}" * bool(layout.because)
    return f" ({facts}{because})" if facts else ""


def _trial(gap: Gap, layouts: Mapping[str, Arrangement]) -> str:
    """Say which trial build the readings are taken with; empty where they need none."""
    if not any(layout.space.trial_factor for layout in layouts.values()):
        return ""
    words = {
        None: "with any parts that fit the places; note which",
        "none": "without the parts that are chosen",
    }
    return words.get(gap.trial, f"with the {gap.trial} parts")


def _readings(case: Case, gap: Gap, layouts: Mapping[str, Arrangement]) -> Iterator[ReadingToTake]:
    """Yield each reading that the space of a gap is worked out from."""
    told: set[str] = set()
    for layout in layouts.values():
        for name in layout.space.readings:
            if name in told:
                continue
            told.add(name)
            asked = described(case.unit, gap, name)
            places = min(asked.places, MOST_BLANKS) if asked else FEWEST_BLANKS
            yield ReadingToTake(
                name,
                asked.what if asked else "the gap of the trial build",
                (asked.gauge if asked else "") or "",
                tuple(state_words(expected_state(layout, asked))),
                range(1, places + 1),
            )


def _allowances(gap: Gap, unit: LengthUnit) -> Iterator[str]:
    for one in gap.allowances:
        because = f", {one.because}" * bool(one.because)
        yield f"read with {', '.join(state_words(one.state))}: add {show(one.add, unit)}{because}"
