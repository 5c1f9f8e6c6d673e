"""Heat in JSON: what thin steels cost, and what one engagement brings where energy is said."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fractions import Fraction

    from gapwright.fit.heat import Heat, Warmed


def heat_shape(heat: Heat | None) -> dict[str, Any] | None:
    """The heat of a pack as plain data: shares are exact, the rest rounded."""
    if heat is None:
        return None
    has = heat.engagement
    return {
        "share of thick": str(heat.share),
        "warms": _near(heat.warms),
        "steels": [_steel_shape(steel) for steel in heat.steels],
        "engagement": has and {
            "joules": _near(has.joules),
            "kilograms": _near(has.kilograms),
            "joules per kelvin": _near(has.joules_per_kelvin),
            "hottest": [steel.line.number for steel in heat.hottest],
            "at heat end": heat.at_heat_end,
        },
    }  # fmt: skip


def _steel_shape(steel: Warmed) -> dict[str, Any]:
    return {
        "number": steel.line.number,
        "heated faces": steel.faces,
        "beside thick": str(steel.beside_thick),
        "rise": _near(steel.rise),
        "rise of thick": _near(steel.thick_rise),
    }


def _near(value: Fraction | None) -> float | None:
    return None if value is None else round(float(value), 4)
