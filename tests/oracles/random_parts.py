"""Random part families with what is on the shelf of them, for random jobs.

Lengths are whole thousandths of a millimetre. Thicknesses stand on a coarse grid, so that many
builds are equally good on many aims, with a few lots measured off it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from random import Random

Spec = dict[str, Any]
FRICTION = 2_000
KINDS = {
    "steel": "steel",
    "plate": "steel",
    "ring": "ring",
    "washer": "washer",
    "shim": "shim",
    "lever": "spacer",
}
NOMINALS = {
    "plate": [(2_000, 2_200), (1_900, 2_000, 2_200)],
    "ring": [(1_500, 1_600), (1_500, 1_600, 1_800)],
    "washer": [(1_000, 1_200), (1_000, 1_100, 1_300)],
    "shim": [(100,), (100, 200)],
    "lever": [(3_000,), (3_000, 3_300)],
}


def mm(length: int) -> str:
    """Write a length given in thousandths of a millimetre."""
    sign = "-" if length < 0 else ""
    return f"{sign}{abs(length) // 1000}.{abs(length) % 1000:03} mm"


@dataclass(slots=True)
class Lot:
    """Parts on the shelf."""

    size: str
    thickness: int
    count: int
    condition: str = "new"
    label: str = ""


@dataclass(slots=True)
class Family:
    """A family, what is written of it, and its lots."""

    name: str
    nominals: dict[str, int]
    spec: Spec
    lots: list[Lot] = field(default_factory=list)

    def allowed(self, only: list[str]) -> list[str]:
        """The sizes that a list of sizes and grades allows."""
        sizes: Spec = self.spec["sizes"]
        return [s for s in self.nominals if not only or s in only or sizes[s].get("grade") in only]


class PartMaker:
    """Draws families and lots, and notes the roads they take."""

    def __init__(self, rng: Random, roads: set[str]) -> None:
        self.rng = rng
        self.roads = roads
        self.families: dict[str, Family] = {}
        self.planted: list[Lot] = []
        self.rivals = False
        """Whether all places of a family want the same lot, of which there is one too few."""

    def chance(self, share: float, road: str = "") -> bool:
        """Say yes that often, and note the road then."""
        taken = self.rng.random() < share
        if taken and road:
            self.roads.add(road)
        return taken

    def family(self, name: str) -> Family:
        """The family of a name, drawn when it is first asked for."""
        if name not in self.families:
            drawn = self._steel(name) if name == "steel" else self._plain(name)
            self.families[name] = drawn
            self._lots(drawn)
        return self.families[name]

    def _plain(self, name: str) -> Family:
        nominals = self.rng.choice(NOMINALS[name])
        return self._family(name, dict(zip("ABC", nominals, strict=False)))

    def _steel(self, name: str) -> Family:
        road = self.rng.choice(["two", "two", "three", "near", "grades"])
        if road == "two":
            return self._family(name, {"thin": 1_600, "thick": 1_800})
        self.roads.add({"three": "three grades", "near": "near nominals"}.get(road, "grades"))
        if road == "near":
            return self._family(
                name, {"a": 1_600, "b": 1_620, "c": 1_800}, tolerance=self.rng.choice([20, 30])
            )
        drawn = self._family(name, {"thin": 1_600, "mid": 1_700, "thick": 1_800})
        if road == "grades":
            low = self.rng.choice(["slim", "full"])
            for size, grade in (("thin", "slim"), ("mid", low), ("thick", "full")):
                drawn.spec["sizes"][size]["grade"] = grade
        return drawn

    def _family(self, name: str, nominals: dict[str, int], tolerance: int = 0) -> Family:
        sizes = {size: {"thickness": mm(length)} for size, length in nominals.items()}
        spec: Spec = {"kind": KINDS[name], "sizes": sizes}
        if tolerance:
            spec["tolerance"] = mm(tolerance)
        if self.chance(0.15, "wear limit"):
            spec["wear limit"] = mm(min(nominals.values()) - self.rng.choice([5, 8]))
        return Family(name, nominals, spec)

    def _lots(self, family: Family) -> None:
        for size in family.nominals:
            for nth in range(self.rng.choice([0, 1, 1, 2])):
                family.lots.append(self._lot(family, size, nth))

    def _lot(self, family: Family, size: str, nth: int) -> Lot:
        measured = self.chance(0.25, "measured lots")
        off = self.rng.choice([-12, -5, 5, 7]) if measured else 0
        used = self.chance(0.2, "used lots")
        label = self.rng.choice(["", f"T-{nth}", f"S-{nth}"])
        count = self.rng.choice([1, 1, 2])
        condition = "used" if used else "new"
        return Lot(size, family.nominals[size] + off, count, condition, label)

    def plant(self, family: Family, only: list[str]) -> tuple[str, int]:
        """Pick a part for an answer, from a lot or as a new lot of its own."""
        sizes = family.allowed(only)
        limit = family.spec.get("wear limit")
        fit = [
            lot
            for lot in family.lots
            if lot.size in sizes and (not limit or mm(lot.thickness) >= limit)
        ]
        wanted = [lot for lot in fit if any(lot is other for other in self.planted)]
        if fit and self.chance(0.8):
            lot = wanted[0] if wanted and self.rivals else self.rng.choice(fit)
            lot.count += self.rng.choice([0, 0, 1])
        else:
            size = self.rng.choice(sizes)
            lot = Lot(size, family.nominals[size], 1)
            family.lots.append(lot)
        self.planted.append(lot)
        return lot.size, lot.thickness

    def make_short(self) -> None:
        """Take parts or whole lots off the shelf; of rivals the part that all of them want."""
        if self.rivals:
            self.roads.add("one part too few")
            lot = max(self.planted, key=lambda lot: sum(lot is other for other in self.planted))
            lot.count = sum(lot is other for other in self.planted) - 1
            family = next(f for f in self.families.values() if any(lot is o for o in f.lots))
            family.lots = [o for o in family.lots if o is lot or o.size != lot.size]
            return
        lots = [lot for family in self.families.values() for lot in family.lots if lot.count]
        for lot in self.rng.sample(lots, min(len(lots), self.rng.choice([1, 1, 2, 3]))):
            lot.count = self.rng.choice([0, lot.count - 1])

    def shelf(self) -> Spec:
        """Write the shelf."""
        found: Spec = {}
        for name, family in self.families.items():
            for lot in family.lots:
                found.setdefault(name, {}).setdefault(lot.size, []).append(
                    self._written(family, lot)
                )
        return found

    def _written(self, family: Family, lot: Lot) -> Spec:
        reserved = self.rng.choice([0, 0, 0, 1])
        written: Spec = {"count": lot.count + reserved, "condition": lot.condition}
        if reserved:
            written["reserved"] = reserved
            self.roads.add("reserved")
        if lot.label:
            written["lot"] = lot.label
        if lot.thickness != family.nominals[lot.size]:
            written["thickness"] = mm(lot.thickness)
        return written

    def specs(self) -> Spec:
        """Write the families."""
        fixed: Spec = {"friction": {"kind": "friction", "fixed": mm(FRICTION)}}
        return fixed | {name: family.spec for name, family in self.families.items()}
