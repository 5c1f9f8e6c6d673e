"""The sentences on heat: what thin steels cost as a share, and in degrees where it is known."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from gapwright.fit.gap_text import part_name
from gapwright.fit.heat import heat_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gapwright.fit.heat import Engagement, Heat, HeatedSteel
    from gapwright.fit.report import Report

FEW = 10  # degrees, below which a tenth is told
REMARK = (
    "degrees of heat compare builds and predict no temperature: all of it stays in the steels "
    "and every face takes alike"
)


def heat_words(heat: Heat | None) -> Iterator[str]:
    """Say what thin steels cost in heat.

    Nothing is said where all steels are thick, or nearly, and the unit file states no energy.
    """
    percent = round(heat.share * 100) if heat else 100
    if heat is None or (percent >= 100 and heat.engagement is None):  # noqa: PLR2004 - all of it
        return
    weight = _weight(heat, heat.engagement) if heat.engagement else ""
    warms = f"{float(round(heat.warms, 2)):.2f} times as much"
    yield f"heat: {percent} % of the steel of thick ones alone{weight}; it warms {warms}"
    if heat.engagement:
        yield from _engagement(heat, heat.engagement)


def _weight(heat: Heat, has: Engagement) -> str:
    kilograms = (f"{float(part):.3g}" for part in (has.kilograms, has.kilograms / heat.share))
    capacity = (
        f"{float(part):.3g}" for part in (has.joules_per_kelvin, has.joules_per_kelvin / heat.share)
    )
    return f" ({' of '.join(kilograms)} kg, {' of '.join(capacity)} J/K)"


def _engagement(heat: Heat, has: Engagement) -> Iterator[str]:
    hottest = heat.hottest[0]
    if hottest.rise is None:
        return
    numbers = ", ".join(str(steel.step.number) for steel in heat.hottest)
    names = " and ".join(dict.fromkeys(part_name(steel.step) for steel in heat.hottest))
    of_thick = max(steel.thick_rise for steel in heat.steels if steel.thick_rise is not None)
    yield (
        f"one engagement ({energy(has.joules)}): hottest {names} (number {numbers}), "
        f"{degrees(hottest.rise)} up; of thick ones alone {degrees(of_thick)}"
    )
    if not heat.thick_at_heat_end:
        yield (
            f"the heat end is said to be the {heat.heat_end} side, and of thick steels alone the "
            "hottest lies in the other half; the order is as the unit file has it"
        )


def heat_cost_words(report: Report) -> Iterator[str]:
    """Say of each thin steel what it costs in heat against a thick one in its place."""
    heats = [(gap.name, heat_of(report.case, gap)) for gap in report.gaps]
    lines = [line for name, heat in heats if heat for line in _costs(name, heat)]
    if lines:
        yield "what each thin steel costs in heat"
        yield from (f"  {line}" for line in lines)


def _costs(gap: str, heat: Heat) -> Iterator[str]:
    for steel in heat.steels:
        if steel.costs:
            yield f"{gap}: {part_name(steel.step)} (number {steel.step.number}): {_cost(steel)}"


def _cost(steel: HeatedSteel) -> str:
    if steel.rise is None or steel.thick_rise is None:
        return f"warms {float(steel.beside_thick):.2f} times as much as a thick one there"
    more = degrees(steel.rise - steel.thick_rise)
    return f"{degrees(steel.rise)} up, {more} more than a thick one there"


def heat_remark(report: Report) -> Iterator[str]:
    """Say what the degrees mean, where any are shown."""
    heats = (heat_of(report.case, gap) for gap in report.gaps)
    if any(heat and heat.engagement for heat in heats):
        yield REMARK


def degrees(rise: Fraction) -> str:
    """Write a rise of temperature, given in kelvin, in both scales."""
    return f"{_round(rise)} C ({_round(rise * Fraction(9, 5))} F)"


def _round(rise: Fraction) -> str:
    return f"{float(rise):.{0 if rise >= FEW else 1}f}"


def energy(joules: Fraction) -> str:
    """Write an energy in joules or kilojoules, to three digits."""
    return f"{float(joules / 1000):.3g} kJ" if joules >= 1000 else f"{float(joules):.3g} J"  # noqa: PLR2004 - a kilojoule
