"""Drums whose truth is drawn: every part a thing of its own, every reading off by its gauge.

Nothing of gapwright's doubt is used here. A drum is written out as a file, with the parts of a
build; what is known of each thing is kept beside it, so that its true size can be drawn.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from specs.models.lot import Lot
from specs.values.lengths import Length

if TYPE_CHECKING:
    from random import Random

    from numpy.typing import NDArray

    from specs.models.case import Case

    Draws = NDArray[np.float64]

TRIED = "trial stack + gap"
UM = 1_000  # nanometres
STEEL, RING, DISC = 2_000, 1_500, 1_800  # microns
UNSAID = 25.4
"""0.001 in: for a gauge, a part as sold and a spread between places of which nothing is said."""


@dataclass
class Things:
    """Draws what things are off by; a thing drawn before is still the same."""

    generator: np.random.Generator
    count: int
    known: dict[str, Draws] = field(default_factory=dict)

    def rectangle(self, name: str, half: float) -> Draws:
        """Something off by up to `half` microns, either way."""
        return self._kept(name, self.generator.uniform(-half, half, self.count))

    def triangle(self, name: str, half: int) -> Draws:
        """Something mostly off by little, by `half` microns at most."""
        total = self.generator.uniform(-half / 2, half / 2, (2, self.count)).sum(axis=0)
        return self._kept(name, total)

    def bell(self, name: str, u: float) -> Draws:
        """Something off as many small causes make it, `u` microns being a standard one."""
        return self._kept(name, self.generator.normal(0, u, self.count))

    def _kept(self, name: str, drawn: Draws) -> Draws:
        return self.known.setdefault(name, drawn)


@dataclass
class Axes(Things):
    """Gives each thing an axis of its own, as long as its standard deviation.

    What is summed of them is then a vector whose squared length is the sum's variance, exactly.
    """

    generator: np.random.Generator = field(default_factory=np.random.default_rng)
    count: int = 80

    def rectangle(self, name: str, half: float) -> Draws:
        """Something off by up to `half` microns, either way."""
        return self._axis(name, half / 3**0.5)

    def triangle(self, name: str, half: int) -> Draws:
        """Something mostly off by little, by `half` microns at most."""
        return self._axis(name, half / 6**0.5)

    def bell(self, name: str, u: float) -> Draws:
        """Something off as many small causes make it, `u` microns being a standard one."""
        return self._axis(name, u)

    def _axis(self, name: str, length: float) -> Draws:
        if name not in self.known:
            self.known[name] = np.zeros(self.count)
            self.known[name][len(self.known) - 1] = length
        return self.known[name]


@dataclass(frozen=True)
class Drum:
    """One drum with a build: its file, and all that is random about it."""

    steels: int
    tolerance: int | None
    """None where the file does not say, as for the others below."""
    printed: int
    """Half the printed range of a ring."""
    disc: int | None
    tells: int | None
    shape: str
    """rectangular, triangular or normal."""
    limits: int
    places: int
    asked: int
    """At how many places the unit asks for the depth."""
    spreads: int | None
    """The standard deviation between places."""
    space: str
    stay: int
    """How many of the trial build's steels stay in."""
    measured: bool
    within: int
    ring_stays: bool

    def case(self) -> Case:
        """The drum as a person writes it."""
        gauge = "u" if self.shape == "normal" else f"shape: {self.shape}, tells"
        said = [f"limits: {self.limits} um"] if self.limits else []
        said += [] if self.tells is None else [f"{gauge}: {self.tells} um"]
        spreads = "" if self.spreads is None else f"spreads by: {self.spreads} um"
        disc, steel = (
            "" if one is None else f", tolerance: {one} um" for one in (self.disc, self.tolerance)
        )
        stack = f"[disc, {{repeat: {self.steels}, of: [steel, disc]}}, ring]"
        at = ", ".join(["8 mm"] * self.places)
        taken = (
            f"gap: [{at}], trial: [{'thick, ' * self.steels}A]"
            if self.space == TRIED
            else f"readings: {{depth: [{at}], edge: 1 mm}}"
        )
        return case_of(
            yaml_door.parse(
                f"""
length: mm
unit:
  gauges: {{gauge: {{{", ".join(said)}}}}}
  families:
    disc: {{kind: friction, fixed: 1.8{disc}}}
    steel: {{kind: steel{steel}, sizes: {{thick: 2.0, thin: 1.6}}}}
    ring:
      kind: ring
      sizes: {{A: {RING - self.printed} to {RING + self.printed} um}}
  packs:
    low:
      window: 0.5 to 1.5
      space: {self.space}
      {spreads}
      readings:
        gap: {{what: gap, gauge: gauge}}
        depth: {{what: depth, gauge: gauge, places: {self.asked}}}
        edge: {{what: edge, gauge: gauge}}
      stack: {stack}
shelf: {{}}
job: {{gaps: {{low: {{{taken}}}}}}}
""",
                "drum",
            )
        )

    @property
    def one_spot(self) -> bool:
        """Whether its room is read at one spot, where nothing spreads."""
        return self.space != TRIED and self.asked == self.places == 1

    def placed(self) -> dict[str, tuple[Lot, ...]]:
        """The build: some steels of the trial build, the others from the shelf."""
        own = self._lot("steel", "thick", STEEL, own=True)
        new = self._lot("steel", "thick", STEEL, measured=self.measured)
        names = ["steel"] if self.steels == 1 else [f"steel {n}" for n in range(1, self.steels + 1)]
        steels = {name: (own if nth < self.stay else new,) for nth, name in enumerate(names)}
        return {**steels, "ring": (self._lot("ring", "A", RING, own=self.ring_stays),)}

    def _lot(
        self, family: str, size: str, um: int, *, own: bool = False, measured: bool = False
    ) -> Lot:
        within = Length(self.within * UM if measured else 0)
        gauge = "gauge" if measured else ""
        return Lot(
            family, size, Length(um * UM), 9, own=own, measured=measured, gauge=gauge, within=within
        )

    def off(self, things: Things) -> Draws:
        """By how much the gap worked out is more than the true one, in microns."""
        tried = self.space == TRIED
        total = np.zeros(things.count)
        signs = {"gap": 1} if tried else {"depth": 1, "edge": -1 if "- edge" in self.space else 1}
        for name, sign in signs.items():
            places = 1 if name == "edge" else self.places
            total += sign * sum(self.place(things, name, n) for n in range(places)) / places
            if self.limits:
                total += sign * things.rectangle("gauge", self.limits)
        if tried:  # a part thicker than the file says makes the room larger than worked out
            total -= sum(self._part(things, name, own=True) for name in self._trial())
        return total + sum(self._part(things, *part) for part in self._build())

    def place(self, things: Things, name: str, nth: int) -> Draws:
        """By how much what is read at one place differs from the true mean.

        A pack's clearance spreads from place to place, and so does a depth asked for or taken at
        several; an edge is one spot.
        """
        off = self.read(things, f"{name} {nth}")
        several = name == "depth" and max(self.asked, self.places) > 1
        if name in ("gap", "after") or several:
            by = UNSAID if self.spreads is None else self.spreads
            off = off + things.bell(f"place {name} {nth}", by)
        return off

    def read(self, things: Things, name: str) -> Draws:
        """By how much one reading is off, by itself."""
        if self.tells is None:
            return things.rectangle(name, UNSAID)
        if self.shape == "normal":
            return things.bell(name, self.tells)
        if self.shape == "triangular":
            return things.triangle(name, self.tells)
        return things.rectangle(name, self.tells)

    def _discs(self) -> list[str]:
        return [f"disc {n}" for n in range(self.steels + 1)]

    def _trial(self) -> list[str]:
        return [*self._discs(), *(f"steel {n}" for n in range(self.steels)), "ring"]

    def _build(self) -> list[tuple[str, bool]]:
        steels = [(f"steel {n}", n < self.stay) for n in range(self.steels)]
        return [*((disc, True) for disc in self._discs()), *steels, ("ring", self.ring_stays)]

    def _part(self, things: Things, name: str, own: bool) -> Draws:  # noqa: FBT001 - of a pair
        """By how much a part is thicker than the file says."""
        family = name.split(maxsplit=1)[0]
        if family == "steel" and self.measured and not own:
            total = -self.read(things, "lot")  # what was read is more than it is
            if self.limits:
                total = total - things.rectangle("gauge", self.limits)
            return total + (things.rectangle(f"new {name}", self.within) if self.within else 0)
        stated = {"disc": self.disc, "steel": self.tolerance, "ring": self.printed or None}[family]
        half = UNSAID if stated is None else stated
        return things.rectangle(name if own else f"new {name}", half)


def random_drum(random: Random) -> Drum:
    """A drum of any kind, about as doubtful as they are."""
    steels = random.randint(1, 5)
    space = random.choice((TRIED, TRIED, "depth - edge", "depth + edge - 9 mm"))
    return Drum(
        steels=steels,
        tolerance=random.choice((0, 5, 20, 50, None)),
        printed=random.choice((0, 10, 50)),
        disc=random.choice((0, 10, 30, None)),
        tells=random.choice((10, 20, 50, None)),
        shape=random.choice(("rectangular", "triangular", "normal")),
        limits=random.choice((0, 0, 10, 40)),
        places=random.randint(1, 4),
        asked=random.choice((1, 3)),
        spreads=random.choice((0, 0, 10, 30, None)),
        space=space,
        stay=random.randint(0, steels) if space == TRIED else 0,
        measured=random.random() < 0.4,
        within=random.choice((0, 8)),
        ring_stays=space == TRIED and random.random() < 0.5,
    )
