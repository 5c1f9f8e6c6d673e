"""Printed rules against our answers: a manual's rule in plain fractions, reading by reading.

Beside each unit in `manuals/NAME.yaml` stands `NAME.expect.yaml`. For each gap it gives the sum of
readings that the manual prints, the window, and the sizes of the chart, so that

    sum - highest <= parts <= sum - lowest        (on a height: lowest - sum <= parts <= highest - sum)

and of the builds in that range the one whose gap is nearest the aim is best. All figures are in
the length of the file. Nothing of the solver is used to say what is expected.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import combinations_with_replacement, product
from pathlib import Path
from typing import Any

from gapwright.desk import Fit, NoFit, fit_case
from specs import yaml_door
from specs.case import case_of

MANUALS = Path(__file__).parent / "manuals"
NM = {"mm": 1_000_000, "in": 25_400_000}
WELL_INSIDE = Fraction(1, 4)  # of a window from its aim: in a contest for parts, as good as any

Given = dict[str, str]  # what each reading says, and which part was in the trial build
Part = tuple[str, Fraction]  # the name of its size, its thickness
Build = tuple[Part, ...]


@dataclass(frozen=True)
class Printed:
    """What a manual prints for one gap."""

    gap: str
    sum: str
    low: Fraction | None
    high: Fraction | None
    aim: Fraction
    sizes: dict[str, Fraction]
    counts: tuple[int, int]
    fitted: str
    on_height: bool

    def needed(self, given: Given) -> tuple[Fraction | None, Fraction | None]:
        """The least and the greatest thickness that the rule allows."""
        filled = self.filled(given)
        if self.on_height:
            return less(self.low, filled), less(self.high, filled)
        return less(filled, self.high), less(filled, self.low)

    def left(self, given: Given, parts: Fraction) -> Fraction:
        """The gap, or the height, with parts of this thickness."""
        return self.filled(given) + (parts if self.on_height else -parts)

    def filled(self, given: Given) -> Fraction:
        """The sum of readings as printed."""
        return worked_out(self.sum, {name: self.number(text) for name, text in given.items()})

    def number(self, text: str) -> Fraction:
        """The number a reading gave, or the thickness of the part it names."""
        return self.sizes[text] if text in self.sizes else number(text.split()[-1])

    def builds(self, given: Given) -> list[Build]:
        """Every build of the chart, and of the part now fitted as it measured."""
        parts = dict(self.sizes)
        fitted = given.get(self.fitted, "")
        if " " in fitted:
            parts[fitted] = self.number(fitted)
        least, most = self.counts
        return [
            build
            for count in range(least, most + 1)
            for build in combinations_with_replacement(parts.items(), count)
        ]

    def off(self, given: Given, parts: Fraction) -> Fraction:
        """How far from the aim a build leaves the gap."""
        return abs(self.left(given, parts) - self.aim)


@dataclass(frozen=True)
class Check:
    """One sweep of readings over one or more gaps of a unit."""

    entry: str
    title: str
    told: dict[str, Any]
    length: str

    @property
    def rules(self) -> tuple[Printed, ...]:
        """What is printed for each gap."""
        return tuple(printed(gap, told) for gap, told in self.told["gaps"].items())

    @property
    def stock(self) -> int | None:
        """How many of each size there are for all gaps together, where they contend."""
        return int(self.told["stock"]) if "stock" in self.told else None

    @property
    def step(self) -> Fraction:
        """The finest step in which a reading is swept."""
        steps = [told.split(" by ")[1] for told in self.told["readings"].values() if " by " in told]
        return min(map(number, steps))

    def readings(self) -> list[Given]:
        """Every set of readings to ask for."""
        swept = [spread(told) for told in self.told["readings"].values()]
        return [
            dict(zip(self.told["readings"], values, strict=True)) for values in product(*swept)
        ]


@dataclass(frozen=True)
class Answered:
    """Our answer: the parts of each gap and what they leave; no parts for no fit."""

    builds: tuple[Build, ...]
    left: tuple[Fraction, ...]
    fits: bool


def number(text: str) -> Fraction:
    """A decimal, with point or comma; of a printed range its middle."""
    ends = [Fraction(end.replace(",", ".")) for end in text.removesuffix(" mm").split(" to ")]
    return sum(ends, Fraction(0)) / len(ends)


def less(one: Fraction | None, other: Fraction | None) -> Fraction | None:
    """A difference, open where an end is."""
    return None if one is None or other is None else one - other


def total(build: Build) -> Fraction:
    """What the parts of a build measure together."""
    return sum((thickness for _, thickness in build), Fraction(0))


def worked_out(text: str, values: dict[str, Fraction]) -> Fraction:
    """A sum such as `26.9 + l/2 - m`."""
    result = Fraction(0)
    for sign, term, under in re.findall(r"([+-]?) ?([^\s/]+)(?:/(\d+))?", text):
        value = values[term] if term in values else number(term)
        result += (-value if sign == "-" else value) / int(under or 1)
    return result


def spread(told: str | list[str]) -> list[str]:
    """The readings of `18.30 to 20.00 by 0.01`, a list of them, or the one."""
    found = re.fullmatch(r"(\S+) to (\S+) by (\S+)", told) if isinstance(told, str) else None
    if not found:
        return told if isinstance(told, list) else [told]
    first, last, step = map(Decimal, found.groups())
    return [str(first + step * count) for count in range(int((last - first) / step) + 1)]


def printed(gap: str, told: dict[str, Any]) -> Printed:
    """What an expectation file says of one gap."""
    at_most = told["window"].startswith("at most ")
    ends = [number(end) for end in told["window"].removeprefix("at most ").split(" to ")]
    low, high = (None, ends[0]) if at_most else (ends[0], ends[1])
    counts = told.get("how many", "1 to 1" if "sizes" in told else "0 to 0").split(" to ")
    return Printed(
        gap=gap,
        sum=told["sum"],
        low=low,
        high=high,
        aim=number(told["aim"]) if "aim" in told else sum(ends, Fraction(0)) / len(ends),
        sizes={name: number(size) for name, size in told.get("sizes", {}).items()},
        counts=(int(counts[0]), int(counts[1])),
        fitted=told.get("fitted", ""),
        on_height=told.get("on") == "height",
    )


@cache
def source(entry: str) -> yaml_door.Source:
    """The unit and the shelf of a manual, in our own format."""
    return yaml_door.read(MANUALS / f"{entry}.yaml")


def entries() -> list[str]:
    """The manuals there are, by file name."""
    return sorted(path.name.removesuffix(".expect.yaml") for path in MANUALS.glob("*.expect.yaml"))


@cache
def expectation(entry: str) -> dict[str, Any]:
    """What is expected of a manual, and from which source."""
    return yaml_door.read(MANUALS / f"{entry}.expect.yaml").data


def checks() -> list[Check]:
    """All sweeps of all manuals."""
    return [
        Check(entry, title, told, expectation(entry)["length"])
        for entry in entries()
        for title, told in expectation(entry)["checks"].items()
    ]


def answer(check: Check, given: Given) -> Answered:
    """Ask gapwright, by the whole way from the file's text to the answer."""
    data = {**source(check.entry).data, "job": _job(check, given)}
    if check.stock is not None:
        held = {
            family: dict.fromkeys(sizes, str(check.stock))
            for family, sizes in data["shelf"].items()
        }
        data["shelf"] = held
    case = case_of(yaml_door.Source(check.entry, data, {}))
    report = fit_case(case)
    assert report.solved == tuple(check.told["gaps"])
    if isinstance(report.answer, NoFit):
        return Answered((), (), fits=False)
    assert isinstance(report.answer, Fit)
    assert report.answer.proved
    task, scale = report.answer.task, NM[check.length]
    builds = []
    for gap in report.answer.build:
        lots = [task.choices[choice].lots[0] for place in gap.parts for choice in place]
        families = case.unit.families
        builds.append(
            tuple(
                (_named(lot.size, lot.thickness == families[lot.family].sizes[lot.size].nominal,
                        lot.thickness.nm / scale), lot.thickness.nm / scale)
                for lot in lots
            )
        )  # fmt: skip
    left = tuple(gap * task.step / scale for gap in report.answer.gaps)
    return Answered(tuple(builds), left, fits=True)


def _named(size: str, nominal: bool, thickness: Fraction) -> str:  # noqa: FBT001
    return size if nominal else f"{size} {decimal(thickness)}"


def decimal(value: Fraction) -> str:
    """A fraction that ends, written out."""
    return str(Decimal(value.numerator) / Decimal(value.denominator))


def _job(check: Check, given: Given) -> dict[str, Any]:
    """The job section as a person would write it."""
    unit = source(check.entry).data["unit"]
    gaps = {}
    taken = {**given, **_places(check, given)}
    for rule in check.rules:
        spec = unit.get("packs", {}).get(rule.gap) or unit["end plays"][rule.gap]
        own = {name: taken[name] for name in (*spec.get("readings", {}), "gap") if name in taken}
        work: dict[str, Any] = {"readings": own}
        if rule.fitted:
            work["trial"] = {"parts": [given[rule.fitted]]}
            if "layout" in check.told:
                work["trial"]["layout"] = check.told["layout"]
        gaps[rule.gap] = work
    shared = {name: taken[name] for name in unit.get("readings", {})}
    return {"gaps": gaps, "readings": shared, "facts": check.told.get("facts", {})}


def _places(check: Check, given: Given) -> dict[str, list[str]]:
    numbers = {
        name: number(text) for name, text in given.items() if re.fullmatch(r"[-\d.,]+", text)
    }
    return {
        name: [decimal(worked_out(formula, numbers)) for formula in formulas]
        for name, formulas in check.told.get("places", {}).items()
    }


def answers(check: Check) -> list[tuple[Given, Answered]]:
    """Our answer to every reading of a sweep, asked once."""
    key = (check.entry, check.title)
    if key not in _ANSWERS:
        _ANSWERS[key] = [(given, answer(check, given)) for given in check.readings()]
    return _ANSWERS[key]


_ANSWERS: dict[tuple[str, str], list[tuple[Given, Answered]]] = {}


def disagreements(check: Check, shift: Fraction = Fraction(0)) -> list[str]:
    """Where our answers are not what the rule says; with its range shifted, where they bite."""
    found = []
    for given, ours in answers(check):
        allowed = _allowed(check, given, shift)
        told = f"{check.entry}, {check.title}, {given}"
        if ours.fits != bool(allowed):
            found.append(f"{told}: we say {ours.fits}, the manual allows {len(allowed)} builds")
        elif ours.fits:
            found += [f"{told}: {fault}" for fault in _faults(check, given, ours, allowed)]
    return found


def _allowed(check: Check, given: Given, shift: Fraction) -> list[tuple[Build, ...]]:
    """The builds in range for each gap; where gaps contend, those that the stock serves."""
    each = []
    for rule in check.rules:
        low, high = (None if end is None else end + shift for end in rule.needed(given))
        each.append(
            [
                build
                for build in rule.builds(given)
                if (low is None or low <= total(build)) and (high is None or total(build) <= high)
            ]
        )
    return [together for together in product(*each) if _served(check, together)]


def _served(check: Check, builds: tuple[Build, ...]) -> bool:
    drawn = Counter(name for build in builds for name, _ in build)
    return check.stock is None or all(count <= check.stock for count in drawn.values())


def _faults(
    check: Check, given: Given, ours: Answered, allowed: list[tuple[Build, ...]]
) -> list[str]:
    chosen = tuple(tuple(sorted(build)) for build in ours.builds)
    if chosen not in [tuple(tuple(sorted(build)) for build in builds) for builds in allowed]:
        return [f"{chosen} is none of {allowed}"]
    totals = tuple(map(total, ours.builds))
    lefts = tuple(r.left(given, parts) for r, parts in zip(check.rules, totals, strict=True))
    faults = [] if lefts == ours.left else [f"leaves {ours.left}, by the manual {lefts}"]
    if _worth(check, given, totals) > min(
        _worth(check, given, tuple(map(total, builds))) for builds in allowed
    ):
        faults.append(f"{chosen} is not the best of {allowed}")
    return faults


def _worth(check: Check, given: Given, totals: tuple[Fraction, ...]) -> Fraction:
    """How good a build is by the manual's target, least being best."""
    off = [rule.off(given, parts) for rule, parts in zip(check.rules, totals, strict=True)]
    if check.stock is None:
        return sum(off, Fraction(0))
    widths = [less(rule.high, rule.low) or Fraction(1) for rule in check.rules]
    return max(WELL_INSIDE, *(o / w for o, w in zip(off, widths, strict=True)))
