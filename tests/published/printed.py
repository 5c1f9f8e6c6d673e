"""Printed rules against our answers: a manual's rule in plain fractions, reading by reading.

Beside each unit, such as `manuals/NAME.yaml`, stands `NAME.expect.yaml`. For each gap it gives the
sum of readings that the manual prints, the window, and the sizes of the chart, so that

    sum - highest <= parts <= sum - lowest
    lowest - sum <= parts <= highest - sum        where the window is on a height

and of the builds in that range the one whose gap is nearest the aim is best. All figures are in
the length of the file. Nothing of gapwright but its reader of YAML is used to say what is expected.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache, cached_property
from itertools import combinations_with_replacement, product
from pathlib import Path
from typing import Any

from specs.formats import yaml as yaml_door

PUBLISHED = Path(__file__).parent

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
        return self.sizes[text] if text in self.sizes else number(text.rpartition(" ")[2])

    def builds(self, given: Given) -> dict[Build, Fraction]:
        """Every build of the chart, and of the part now fitted as it measured, with its total."""
        fitted = given.get(self.fitted, "")
        if fitted not in self.known:
            size, _, measured = fitted.rpartition(" ")
            more = [(size, number(measured))] if size and fitted not in self.sizes else []
            parts = sorted([*self.sizes.items(), *more])
            least, most = self.counts
            self.known[fitted] = {
                build: total(build)
                for count in range(least, most + 1)
                for build in combinations_with_replacement(parts, count)
            }
        return self.known[fitted]

    @cached_property
    def known(self) -> dict[str, dict[Build, Fraction]]:
        """The builds worked out so far, by the part that was fitted."""
        return {}


@dataclass(frozen=True)
class Check:
    """One sweep of readings over one or more gaps of a unit."""

    entry: str
    title: str
    told: dict[str, Any]
    length: str

    @cached_property
    def rules(self) -> tuple[Printed, ...]:
        """What is printed for each gap."""
        charts = expectation(self.entry).get("charts", {})
        return tuple(printed(gap, told, charts) for gap, told in self.told["gaps"].items())

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
        return [dict(zip(self.told["readings"], values, strict=True)) for values in product(*swept)]


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
    for sign, term, under in re.findall(r"([+-]?) ?([^\s/+-][^\s/]*)(?:/(\d+))?", text):
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


Chart = str | list[str] | dict[str, str]


def chart(told: Chart, charts: dict[str, Chart]) -> dict[str, Fraction]:
    """The sizes of a chart: named, a list, a series, or one that several gaps share."""
    written = charts.get(told, told) if isinstance(told, str) else told
    named = written if isinstance(written, dict) else {size: size for size in spread(written)}
    return {name: number(size) for name, size in named.items()}


def printed(gap: str, told: dict[str, Any], charts: dict[str, Any]) -> Printed:
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
        sizes=chart(told.get("sizes", {}), charts),
        counts=(int(counts[0]), int(counts[1])),
        fitted=told.get("fitted", ""),
        on_height=told.get("on") == "height",
    )


@cache
def source(entry: str) -> yaml_door.Source:
    """The unit and the shelf of a manual, in our own format."""
    return yaml_door.read(PUBLISHED / f"{entry}.yaml")


def entries(folder: str) -> list[str]:
    """The units of a folder, each as folder/name."""
    names = sorted(path.name for path in (PUBLISHED / folder).glob("*.expect.yaml"))
    return [f"{folder}/{name.removesuffix('.expect.yaml')}" for name in names]


@cache
def expectation(entry: str) -> dict[str, Any]:
    """What is expected of a manual, and from which source."""
    return yaml_door.read(PUBLISHED / f"{entry}.expect.yaml").data


def checks(folder: str) -> list[Check]:
    """All sweeps of the units of a folder."""
    return [
        Check(entry, title, told, expectation(entry)["length"])
        for entry in entries(folder)
        for title, told in expectation(entry)["checks"].items()
    ]


def decimal(value: Fraction) -> str:
    """A fraction that ends, written out."""
    return str(Decimal(value.numerator) / Decimal(value.denominator))
