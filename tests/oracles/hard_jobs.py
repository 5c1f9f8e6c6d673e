"""A job that is easy to build and hard to prove best: many packs that want the same few steels."""

from __future__ import annotations

from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

from solver.problem.instance import GridGap, GridLayout, GridPlace, Instance, LotChoice

if TYPE_CHECKING:
    from specs.models.aims import Aim

AIMS: tuple[Aim, ...] = ("layout", "thin", "heat", "middle", "change", "aim", "spare")


def hard_task(packs: int = 8, steels: int = 6, seed: int = 3) -> Instance:
    """Packs of steels measured one by one, each lot good for a few places only."""
    rng = Random(seed)  # noqa: S311 - no secret hangs on it
    thicknesses = sorted(rng.sample(range(1_600, 2_000), 40))
    choices = tuple(
        LotChoice(
            family="steel",
            size=str(thickness // 100),
            kind="steel",
            thickness=thickness,
            deficit=2_000 - thickness // 100 * 100,
            grade=thickness // 100 - 15 if thickness < 1_900 else 0,
            count=packs * steels // 40 + 1,
            used=False,
            own=False,
            lots=(),
        )
        for thickness in thicknesses
    )
    return Instance(
        Fraction(1_000),
        choices,
        tuple(_gap(n, steels, choices, rng) for n in range(packs)),
        (),
        (),
        AIMS,
    )


def _gap(number: int, steels: int, choices: tuple[LotChoice, ...], rng: Random) -> GridGap:
    takes = {index: choice.thickness for index, choice in enumerate(choices)}
    places = tuple(
        GridPlace(f"steel {nth}", "steel", Fraction(1), takes, 1, 1, nth + 1, 1, None, -1)
        for nth in range(steels)
    )
    room = 1_800 * steels + rng.randrange(-300, 300)
    layout = GridLayout("stack", 0, room, 0, 40, 20, 40, nearest=False, places=places, moved=0)
    return GridGap(f"pack {number}", shifts=number % 2 == 0, layouts=(layout,))
