"""Our answers against the printed rules: every reading asked, every difference named."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING, Any

from gapwright.fit.service import fit_case
from solver.problem.solution import Fit, NoFit
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from tests.amounts import every, spread
from tests.published.printed import (
    Build,
    Check,
    Given,
    Printed,
    decimal,
    less,
    number,
    source,
    worked_out,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

NM = {"mm": 1_000_000, "in": 25_400_000}
WELL_INSIDE = Fraction(1, 4)  # of a window from its aim: in a contest for parts, as good as any


@dataclass(frozen=True)
class Answered:
    """Our answer: the parts of each gap and what they leave; no parts for no fit."""

    builds: tuple[Build, ...]
    left: tuple[Fraction, ...]
    fits: bool


def answer(check: Check, given: Given) -> Answered | None:
    """Ask gapwright, by the whole way from a file's data to the answer.

    None where some reading is nothing: a printed row begins there, but a gap that reads nothing may
    be anything below, so it is no reading.
    """
    report = fit_case(case_of(yaml_door.Source(check.entry, written(check, given), {})))
    if report.unread:
        assert any(not number(text) for text in _readings(check, given))
        return None
    assert report.solved == tuple(check.told["gaps"])
    found = report.answer
    if isinstance(found, NoFit):
        return Answered((), (), fits=False)
    assert isinstance(found, Fit)
    assert found.proved
    instance, scale = found.instance, NM[check.length]
    builds = tuple(
        tuple(
            (lot.size, lot.thickness.nm / scale)
            for place in gap.parts
            for lot in (instance.choices[choice].lots[0] for choice in place)
        )
        for gap in found.build
    )
    return Answered(builds, tuple(gap * instance.step / scale for gap in found.gaps), fits=True)


def _readings(check: Check, given: Given) -> list[str]:
    """What is read of the gaps, in whole or place by place."""
    places = [text for texts in _places(check, given).values() for text in texts]
    return [*places, *(text for text in given.values() if re.fullmatch(r"[-\d.,]+", text))]


def written(check: Check, given: Given) -> dict[str, Any]:
    """The data of a file with unit, shelf and job; the shelf as the check says."""
    data = {**source(check.entry).data, "job": _job(check, given)}
    if check.stock is not None:
        data["shelf"] = {
            family: dict.fromkeys(sizes, str(check.stock))
            for family, sizes in data["shelf"].items()
        }
    return data


def _job(check: Check, given: Given) -> dict[str, Any]:
    """The job section as a person would write it."""
    unit = source(check.entry).data["unit"]
    gaps = {}
    taken = {**given, **_places(check, given)}
    for rule in check.rules:
        spec = unit.get("packs", {}).get(rule.gap) or unit["end plays"][rule.gap]
        own = {name: taken[name] for name in (*spec.get("readings", {}), "gap") if name in taken}
        work: dict[str, Any] = {"readings": own}
        fitted = [given[rule.fitted]] if rule.fitted else "none"
        if "layout" in check.told:
            work["trial"] = {"parts": fitted, "layout": check.told["layout"]}
        elif rule.fitted:
            work["trial"] = fitted
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


_ANSWERS: dict[tuple[str, str], list[tuple[Given, Answered]]] = {}


def answers(check: Check) -> list[tuple[Given, Answered]]:
    """Our answer to the readings of a sweep that this run asks; asked once."""
    key = (check.entry, check.title)
    if key not in _ANSWERS:
        asked = ((given, answer(check, given)) for given in _asked(check))
        _ANSWERS[key] = [(given, ours) for given, ours in asked if ours is not None]
    return _ANSWERS[key]


def _asked(check: Check) -> list[Given]:
    """One in so many readings, and the two on either side of changes in what is allowed."""
    readings = [*check.readings()]
    allowed = [_allowed(check, given, Fraction(0)).keys() for given in readings]
    taken = {*every(range(len(readings)))}
    changes = [n for n in range(1, len(readings)) if allowed[n] != allowed[n - 1]]
    for nth in spread(changes, 10):
        taken |= {nth - 1, nth}
    return [readings[nth] for nth in sorted(taken)]


def disagreements(check: Check, shift: Fraction = Fraction(0)) -> Iterator[str]:
    """Where our answers are not what the rule says; with its range shifted, where they bite."""
    for given, ours in answers(check):
        allowed = _allowed(check, given, shift)
        told = f"{check.entry}, {check.title}, {given}"
        if ours.fits != bool(allowed):
            yield f"{told}: we say {ours.fits}, the manual allows {len(allowed)} builds"
        elif ours.fits:
            yield from (f"{told}: {fault}" for fault in _faults(check, given, ours, allowed))


Allowed = dict[tuple[Build, ...], tuple[Fraction, ...]]  # the builds of each gap: their totals


def _allowed(check: Check, given: Given, shift: Fraction) -> Allowed:
    """The builds in range for each gap; where gaps contend, those that the stock serves."""
    each = []
    for rule in check.rules:
        low, high = (None if end is None else end + shift for end in rule.needed(given))
        each.append(
            [
                (build, parts)
                for build, parts in rule.builds(given).items()
                if (low is None or low <= parts) and (high is None or parts <= high)
            ]
        )
    found = {}
    for together in product(*each):
        builds, totals = tuple(b for b, _ in together), tuple(t for _, t in together)
        if _served(check, builds):
            found[builds] = totals
    return found


def _served(check: Check, builds: tuple[Build, ...]) -> bool:
    drawn = Counter(name for build in builds for name, _ in build)
    return check.stock is None or all(count <= check.stock for count in drawn.values())


def _faults(check: Check, given: Given, ours: Answered, allowed: Allowed) -> Iterator[str]:
    chosen = tuple(tuple(sorted(build)) for build in ours.builds)
    if chosen not in allowed:
        yield f"{chosen} is none of {[*allowed]}"
        return
    totals = allowed[chosen]
    lefts = tuple(r.left(given, parts) for r, parts in zip(check.rules, totals, strict=True))
    if lefts != ours.left:
        yield f"leaves {ours.left}, by the manual {lefts}"
    worths = {
        parts: _worth(check, tuple(map(Printed.left, check.rules, [given] * len(parts), parts)))
        for parts in set(allowed.values())
    }
    if worths[totals] > min(worths.values()):
        yield f"{chosen} is not the best of {[*allowed]}"


def _worth(check: Check, lefts: tuple[Fraction, ...]) -> Fraction:
    """How good a build is by the manual's target, least being best."""
    off = [abs(left - rule.aim) for rule, left in zip(check.rules, lefts, strict=True)]
    if check.stock is None:
        return sum(off, Fraction(0))
    widths = [less(rule.high, rule.low) or Fraction(1) for rule in check.rules]
    return max(WELL_INSIDE, *(o / w for o, w in zip(off, widths, strict=True)))
