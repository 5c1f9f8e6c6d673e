"""Random small jobs, written as people write them.

An obvious generator seldom reaches the engine: nearly nothing fits, and nothing is contested.
So an answer is planted: parts are picked first and the readings are worked out from them. Then
stock is made short or a reading is moved, so that about half of the jobs fit and half do not.
Every feature a job uses is a road; tests count them.
"""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING, Any

from solver.problem.gaps import GridGap, GridLayout, GridPlace, LotChoice
from solver.problem.instance import Instance
from specs.files.read import case_of
from specs.formats.yaml import Source
from specs.models.unit import AIMS
from tests.oracles.random_parts import FRICTION, PartMaker, mm
from tests.oracles.random_stacks import Gap, ReadingMaker, StackMaker

if TYPE_CHECKING:
    from specs.models.case import Case
    from tests.oracles.random_parts import Spec

NAMES = ("low drum", "front play", "high drum")
SMALL, LARGER, ONE_GAP = 1, 2, 3


@dataclass(frozen=True, slots=True)
class RandomJob:
    """A job as written, and the roads it takes."""

    seed: int
    document: Spec
    roads: frozenset[str]

    def case(self) -> Case:
        """The job as read: every value stands as text, as the YAML door hands it over."""
        return case_of(Source(f"random job {self.seed}", as_text(self.document), {}))


def as_text(value: Any) -> Any:  # noqa: ANN401 - a document holds whatever a file can
    """Turn every number into text, as a file holds it."""
    if isinstance(value, dict):
        return {str(key): as_text(item) for key, item in value.items()}
    if isinstance(value, list):
        return [as_text(item) for item in value]
    return str(value)


def random_job(seed: int, size: int = SMALL) -> RandomJob:
    """Draw one job; the same seed draws the same job. Only SMALL ones suit brute force."""
    return _Drawing(Random(seed), size).job(seed)  # noqa: S311 - no secret hangs on it


class _Drawing:
    """One job in the making."""

    def __init__(self, rng: Random, size: int) -> None:
        self.rng = rng
        self.roads: set[str] = set()
        self.maker = PartMaker(rng, self.roads)
        self.chance = self.maker.chance
        self.readings = ReadingMaker(self.maker)
        self.size = size
        self.joint: dict[str, tuple[str, int]] = {}
        self.joint_now: str | None = None

    def job(self, seed: int) -> RandomJob:
        names = NAMES[: 1 if self.size > LARGER else self.rng.choice([1, 1, 2, 2, 2, 3])]
        if len(names) > 1:
            self.roads.add("several gaps")
            self.maker.rivals = self.chance(0.15)
        steels = 6 if self.size > SMALL else 3 if len(names) == 1 else 2
        stacks = StackMaker(self.maker, steels=steels, gaps=len(names))
        gaps = [self._gap(stacks, name) for name in names]
        rules = [] if self.maker.rivals else self._rules(gaps)
        if self.maker.rivals or self.chance(0.4, "made short"):
            self.maker.make_short()
        self._waiting(gaps)
        unit = self._unit(gaps, rules, stacks)
        job: Spec = {"gaps": {gap.name: gap.work for gap in gaps}}
        if self.readings.gasket is not None:
            job["readings"] = {"gasket": mm(self.readings.gasket)}
        if self.readings.friction != FRICTION:
            job["parts"] = {"friction": mm(self.readings.friction)}
        if self.chance(0.15):
            job["facts"] = {"pressure": "raised"}
        if self.chance(0.3, "other aims"):
            self.rng.choice([unit, job])["aims"] = self._aims()
        self._of_the_bench(Random(seed + 10**6), gaps, unit, job)  # noqa: S311 - as above
        document = {"length": "mm", "unit": unit, "shelf": self.maker.shelf(), "job": job}
        return RandomJob(seed, document, frozenset(self.roads))

    def _of_the_bench(self, rng: Random, gaps: list[Gap], unit: Spec, job: Spec) -> None:
        """Draw whose the trial parts are, what is replaced, how parts wear, other linings.

        They have a generator of their own, so that all else is drawn as it was without them.
        """
        families = self.maker.families
        kept = any("now" in gap.work.get("keep", {}).values() for gap in gaps)
        if not kept and rng.random() < 0.15:
            name = rng.choice([*families])
            unit["always replaced"] = {name: "never used twice"}
            self.roads.add("always replaced")
        if rng.random() < 0.3:
            job["trial parts"] = rng.choice(["of this unit", "from the shelf"])
            self.roads.add(f"trial parts {job['trial parts']}")
        for name, family in families.items():
            if rng.random() < 0.12:
                family.spec["wears by"] = mm(rng.choice([4, 6, 11]))
                self.roads.add("wears by")
            elif rng.random() < 0.12:
                size = rng.choice([*family.nominals])
                limit = mm(family.nominals[size] - rng.choice([0, 5, 8]))
                family.spec["sizes"][size]["wear limit"] = limit
                self.roads.add("wear limit of a size")
            unit["families"][name] = family.spec
        if "parts" in job and rng.random() < 0.4:
            unit["families"]["friction"]["wear limit"] = mm(FRICTION - rng.choice([5, 0]))
            self.roads.add("worn part that is not chosen")
        for gap in gaps:
            if "trial" in gap.work and "friction" in str(gap.spec) and rng.random() < 0.4:
                gap.work["trial"]["linings"] = mm(FRICTION - rng.choice([-5, 5, 10]))
                self.roads.add("other linings tried")
        self._going_in(rng, [gap for gap in gaps if len(gap.stacks) == 1 or "layout" in gap.work])

    def _going_in(self, rng: Random, gaps: list[Gap]) -> None:
        """List some of the planted parts of gaps as measured before they go in."""
        for gap in gaps:
            kept, listed = gap.work.get("keep", {}), []
            planted = zip(gap.stack.chosen, gap.stack.labels(), gap.parts, strict=True)
            for place, label, here in planted:
                if place.stacked or place.shared or label in kept or rng.random() < 0.4:
                    listed.append("to choose")
                    continue
                size, thickness = here[0]
                off = rng.choice([-6, -3, 0, 2])
                listed.append(f"{size} {mm(thickness + off)[:-3]}" if off else size)
            if {*listed} != {"to choose"} and rng.random() < 0.25:
                gap.work["going in"] = listed
                self.roads.add("parts going in")

    def _unit(self, gaps: list[Gap], rules: list[Spec], stacks: StackMaker) -> Spec:
        unit: Spec = {
            "families": self.maker.specs(),
            "packs": {gap.name: gap.spec for gap in gaps if gap.pack},
            "end plays": {gap.name: gap.spec for gap in gaps if not gap.pack},
            "facts": {"pressure": {"values": ["standard", "raised"], "default": "standard"}},
            "rules": rules,
            "shared parts": stacks.shared,
        }
        if self.readings.gasket is not None:
            unit["readings"] = {"gasket": "the gasket as it comes"}
        return unit

    def _aims(self) -> list[str]:
        return self.rng.sample(AIMS, self.rng.randint(1, len(AIMS)))

    # One gap.

    def _gap(self, maker: StackMaker, name: str) -> Gap:
        pack = name != "front play" and not self.chance(0.1)
        several = self.chance(0.35, "several layouts")
        names = ["full", "cut"] if several else [self.rng.choice(["full", "stack"])]
        stacks = {layout: maker.stack(name, several=several, pack=pack) for layout in names}
        gap = Gap(name, pack, stacks, self.rng.choice(names))
        if pack:
            self._pack(gap.spec)
        if self.chance(0.3, "loaded from the second end"):
            gap.spec["first in"] = "ring" if pack else "rear"
        if self.chance(0.3, "reach"):
            gap.spec["reach"] = self.rng.choice([0, 2, 5])
        if not self.maker.rivals and self.chance(0.45, "now in the unit"):
            self._now(gap)
        self._plant(gap)
        self.readings.space(gap)
        self._layouts(gap, several=several)
        self._keep(gap)
        return gap

    def _pack(self, spec: Spec) -> None:
        if self.chance(0.4, "only holds"):
            spec["works"] = "holds"
        if self.chance(0.3, "heat at the piston"):
            spec["heat end"] = "piston"

    def _now(self, gap: Gap) -> None:
        """List a build now in the unit, at sizes drawn anew, some of them as measured."""
        layout = self.rng.choice([*gap.stacks])
        texts: list[Any] = []
        for place in gap.stacks[layout].chosen:
            if place.shared and self.joint_now:
                texts.append(self.joint_now)
                continue
            here = [
                self._now_part(place.family) for _ in range(place.least or self.rng.randint(0, 1))
            ]
            texts.append(here if place.stacked else here[0])
            if place.shared:
                self.joint_now = here[0]
        gap.work["now"] = {"layout": layout, "parts": texts}

    def _now_part(self, family: str) -> str:
        drawn = self.maker.family(family)
        size = self.rng.choice([*drawn.nominals])
        if self.chance(0.3):
            return f"{size} {mm(drawn.nominals[size] + self.rng.choice([-10, -6, 4]))[:-3]}"
        return size

    def _plant(self, gap: Gap) -> None:
        """Pick the parts of an answer; those now in the unit where that is drawn."""
        now = gap.work.get("now", {})
        stays = now.get("layout") == gap.planted and self.chance(0.4)
        for nth, place in enumerate(gap.stack.chosen):
            family = self.maker.family(place.family)
            if stays and not place.shared:
                texts = now["parts"][nth] if place.stacked else [now["parts"][nth]]
                gap.parts.append(tuple(self._meant(place.family, text) for text in texts))
                continue
            if place.shared and place.part in self.joint:
                gap.parts.append((self.joint[place.part],))
                continue
            number = self.rng.randint(place.least, place.most)
            gap.parts.append(tuple(self.maker.plant(family, place.only) for _ in range(number)))
            if place.shared:
                self.joint[place.part] = gap.parts[-1][0]

    def _meant(self, family: str, text: str) -> tuple[str, int]:
        size, _, measured = text.partition(" ")
        nominal = self.maker.family(family).nominals[size]
        return size, int(measured.replace(".", "")) if measured else nominal

    # What is written of it.

    def _layouts(self, gap: Gap, *, several: bool) -> None:
        """Write one plain stack, or layouts with ranks, windows and conditions of their own."""
        if not several and "stack" in gap.stacks:
            gap.spec |= gap.stack.written(self.rng, plain=True)
            return
        ranks = self.rng.sample([0, 1, 1, 2], len(gap.stacks))
        layouts = {}
        for rank, (name, stack) in zip(ranks, gap.stacks.items(), strict=True):
            layouts[name] = stack.written(self.rng, plain=False) | {"rank": rank}
            if stack.extra:
                layouts[name]["space"] = f"{gap.spec['space']} + {mm(stack.extra)}"
            if self.chance(0.15, "condition of a layout"):
                layouts[name]["only if"] = {"pressure": self.rng.choice(["standard", "raised"])}
        gap.spec["layouts"] = layouts
        if several and self.chance(0.1, "layout asked for"):
            gap.work["layout"] = gap.planted

    def _keep(self, gap: Gap) -> None:
        """Keep a planted part, or one that is in the unit, where exactly one part lies."""
        single = [n for n, place in enumerate(gap.stack.chosen) if not place.stacked]
        if self.maker.rivals or not single or not self.chance(0.2, "kept part"):
            return
        nth = self.rng.choice(single)
        label = gap.stack.labels()[nth]
        if "now" in gap.work and self.chance(0.4, "kept as it is now"):
            gap.work["keep"] = {label: "now"}
            return
        size, thickness = gap.parts[nth][0]
        gap.work["keep"] = {label: self.rng.choice([size, f"{size} {mm(thickness)[:-3]}"])}

    def _waiting(self, gaps: list[Gap]) -> None:
        """Leave the last gap's readings for later."""
        if len(gaps) > 1 and self.chance(0.06, "waiting gap"):
            gaps[-1].work.pop("readings")
            gaps[-1].work.pop("keep", None)

    # Rules over the whole job or one gap, near what the planted answer holds.

    def _rules(self, gaps: list[Gap]) -> list[Spec]:
        rules = [self._rule(gaps) for _ in range(self.rng.choice([0, 0, 1, 1, 2]))]
        self.roads |= {f"rule {word}" for rule in rules for word in rule}
        return rules

    def _rule(self, gaps: list[Gap]) -> Spec:
        within = self.rng.choice([gap for gap in gaps if gap.stack.chosen])
        here = [within] if self.chance(0.4) else gaps
        used: Counter[str] = Counter()
        for gap in here:
            for place, parts in zip(gap.stack.chosen, gap.parts, strict=True):
                used.update(f"{place.family}/{size}" for size, _ in parts)
                used.update(place.family for _ in parts)
        known = [f"{n}/{s}" for n, f in self.maker.families.items() for s in f.nominals]
        one, two = self.rng.choice([*used, *known]), self.rng.choice([*used, *known])
        rule: Spec = {"preference": self.rng.choice(["yes", "no"])}
        kind = self.rng.choice(["must", "never", "at most", "at least", "both"])
        if kind in ("must", "never"):
            rule |= {"with": one, kind: two}
        most = max(0, used[one] + self.rng.choice([-1, 0, 0, 1]))
        least = max(0, used[one] + self.rng.choice([-1, 0, 0, 1]))
        if kind in ("at most", "both"):
            rule |= {"count": one, "at most": max(least, most) if kind == "both" else most}
        if kind in ("at least", "both"):
            rule |= {"count": one, "at least": least}
        return rule | ({"in": within.name} if len(here) == 1 else {})


WIDER = 0.15  # mm


def plentiful(job: RandomJob) -> Case:
    """The job with more parts on the shelf and wider windows, so that much fits."""
    document = deepcopy(job.document)
    unit = document["unit"]
    for gap in (*unit["packs"].values(), *unit["end plays"].values()):
        for stack in (gap, *gap.get("layouts", {}).values()):
            if "window" in stack:
                stack["window"]["gap"] = _wider(stack["window"]["gap"])
    for family, spec in unit["families"].items():
        for size in spec.get("sizes", ()):
            sizes = document["shelf"].setdefault(family, {})
            sizes[size] = [*sizes.get(size, ()), {"count": 1}]
    return replace(job, document=document).case()


def _wider(text: str) -> str:
    """A window from one gap to another made wider at both ends."""
    low, _, high = (end.removesuffix(" mm") for end in text.partition(" to "))
    return f"{float(low) - WIDER:.3f} mm to {float(high) + WIDER:.3f} mm" if high else text


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
