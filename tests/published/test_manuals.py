"""The main job against makers' workshop manuals, over the whole range of each one's readings.

Facts only: windows, sizes, sums and worked examples. Where a figure is derived, from memory, ours,
or printed wrong, the unit's file says so at its top.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import Any

import pytest

from gapwright.fit.service import fit_case
from solver.problem.solution import Fit
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats import yaml as yaml_door
from specs.values.lengths import LengthError
from specs.values.ranges import parse_range
from tests.amounts import share, spread
from tests.published.compared import answer, answers, disagreements
from tests.published.printed import (
    PUBLISHED,
    Check,
    Printed,
    checks,
    entries,
    expectation,
    number,
    source,
    total,
)

CHECKS = checks("manuals")
EXAMPLES = [(check, told) for check in CHECKS for told in check.told.get("examples", [])]


def name(value: object) -> str | None:
    return f"{value.entry.partition('/')[2]}: {value.title}" if isinstance(value, Check) else None


def of(entry: str, title: str) -> Check:
    return next(
        check for check in CHECKS if (check.entry, check.title) == (f"manuals/{entry}", title)
    )


@pytest.mark.parametrize("check", CHECKS, ids=name)
def test_our_answer_is_the_manuals(check: Check) -> None:
    assert list(disagreements(check)) == []


@pytest.mark.parametrize("check", CHECKS, ids=name)
def test_a_rule_moved_by_one_step_is_noticed(check: Check) -> None:
    assert any(disagreements(check, shift=check.step))
    assert any(disagreements(check, shift=-check.step))


@pytest.mark.parametrize("check", CHECKS, ids=name)
def test_readings_are_met_that_fit_and_that_do_not(check: Check) -> None:
    assert {ours.fits for _, ours in answers(check)} == {True, False}


def ends(rule: Printed, check: Check) -> tuple[bool, bool]:
    """Whether some reading asks for less than the thinnest build, and some for more than any."""
    totals = rule.builds({}).values()
    needs = [rule.needed(given) for given in check.readings()]
    return (
        any(high is not None and high < min(totals) for _, high in needs),
        any(low is not None and low > max(totals) for low, _ in needs),
    )


@pytest.mark.parametrize("entry", entries("manuals"))
def test_the_readings_reach_past_both_ends_of_the_chart(entry: str) -> None:
    reached: dict[str, list[tuple[bool, bool]]] = defaultdict(list)
    for check in (check for check in CHECKS if check.entry == entry):
        beyond = check.told.get("beyond")
        for rule in check.rules:
            thin, thick = ends(rule, check)
            reached[rule.gap].append((thin or beyond == "thick", thick or beyond == "thin"))
    for gap, found in reached.items():
        assert any(thin for thin, _ in found), gap
        assert any(thick for _, thick in found), gap


@pytest.mark.parametrize(("check", "told"), EXAMPLES, ids=name)
def test_a_worked_example_comes_out_as_printed(check: Check, told: dict[str, Any]) -> None:
    (rule,) = check.rules
    ours = answer(check, told["given"])
    assert ours is not None
    (build,) = ours.builds
    if "needed" in told:
        assert rule.needed(told["given"]) == tuple(map(number, told["needed"].split(" to ")))
    if "takes" in told:
        assert [size for size, _ in build] == [told["takes"]]
    if "total" in told:
        assert total(build) == number(told["total"])
    assert ours.left == (number(told["left"]),)


@pytest.mark.parametrize("entry", entries("manuals"))
def test_every_unit_names_its_source(entry: str) -> None:
    first = (PUBLISHED / f"{entry}.yaml").read_text(encoding="utf-8").splitlines()[0]
    maker = expectation(entry)["source"].split(",")[0]
    assert first.startswith(f"# {maker}")


def test_there_are_at_least_twenty_four_manuals() -> None:
    assert len(entries("manuals")) >= 24


def test_one_washer_series_for_two_places_is_contended_for() -> None:
    """Isuzu, 4L30-E, 7A1-168 and 7A1-172: six washers serve two places."""
    one = of("isuzu_4l30e", "one of each washer for both places")
    two = of("isuzu_4l30e", "two of each, nothing to contend for")
    lost = gone = 0
    for given in spread(one.readings(), 40):
        ours, more = answer(one, given), answer(two, given)
        assert ours
        assert more
        lost += more != ours
        gone += more.fits > ours.fits
    assert lost >= share(20)
    assert gone >= 1


def test_a_window_says_the_same_written_both_ways() -> None:
    """Mitsubishi, Airtrek 2005: 1.6 to 1.8 for four speeds, 1.7 with 0.1 either side for five."""
    four = answers(of("mitsubishi_airtrek", "underdrive 4AT"))
    five = answers(of("mitsubishi_airtrek", "underdrive 5AT"))
    assert four == five


def test_too_much_asks_for_a_thicker_ring_and_too_little_for_a_thinner() -> None:
    """Ford, Expedition 2007-2008 (6HP26), forward clutch, mean of two readings."""
    seen = set()
    for given, ours in answers(of("ford_6hp26", "forward clutch, mean of two")):
        mean = (number(given["A"]) + number(given["B"])) / 2
        change = total(ours.builds[0]) - number(given["ring"]) if ours.fits else Fraction(0)
        if ours.fits and not Fraction("0.71") <= mean <= Fraction("1.10"):
            seen.add(mean > 1)
            assert (change > 0) == (mean > 1)
    assert seen == {True, False}


@pytest.mark.parametrize(
    ("window", "why"),
    [
        # Saturn, SL2 1998, 4th clutch: the inches are ten times too much
        ("0.910 to 1.180 mm (0.36 to 0.46 in)", "not 0.36"),
        # GM, 4L60-E washer 73: 2.89 mm is 0.1138 in, printed 0.113
        ("2.89 to 2.99 mm (0.113 to 0.118 in)", "not 0.113"),
        # Chrysler, 41TE low/reverse of 1991: 1.04 mm is 0.041 in
        ("1.04 to 1.65 mm (.042 to .065 in)", "not .042"),
        # Honda, Civic 2006: both agree, so this one is taken
        ("1.23 to 1.43 mm (0.048 to 0.056 in)", ""),
    ],
)
def test_a_print_that_contradicts_itself_is_refused(window: str, why: str) -> None:
    if not why:
        parse_range(window)
        return
    with pytest.raises(LengthError, match=why):
        parse_range(window)


def test_a_unit_with_the_contradicting_window_is_refused_and_millimetres_alone_are_not() -> None:
    """Saturn, SL2 1998, 4th clutch."""
    saturn = source("manuals/saturn_sl2_clutches")
    packs = saturn.data["unit"]["packs"]
    both = {**packs["4th clutch"], "window": "0.910 to 1.180 mm (0.36 to 0.46 in)"}
    job = {"gaps": {"4th clutch": {"gap": "1.00"}}}
    unit = {**saturn.data["unit"], "packs": {**packs, "4th clutch": both}}
    with pytest.raises(InputError, match="neither is taken"):
        case_of(yaml_door.Source("saturn", {**saturn.data, "unit": unit, "job": job}, {}))
    report = fit_case(case_of(yaml_door.Source("saturn", {**saturn.data, "job": job}, {})))
    assert isinstance(report.answer, Fit)
