"""The states readings are taken in: what is allowed for, and what is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from specs.gaps.job_gap import JobGap, expected_state
from specs.values.lengths import Length
from tests.specs.benches import BENCH, LOW, bench, mm, space
from tests.specs.drums import problem, taken

if TYPE_CHECKING:
    from specs.models.case import Case


def low(depth: str, edge: str = "0.50") -> Case:
    return bench(f"low: {{readings: {{depth: {depth}, edge: {edge}, l: 0}}}}")


@pytest.mark.parametrize(
    ("state", "allowed"),
    [
        ("{}", []),
        ("{discs: soaked, load: light}", []),
        ("{discs: dry}", [("discs dry", "-0.10")]),
        ("{load: heavy}", [("load heavy", "0.04")]),
        ("{discs: dry, load: heavy}", [("discs dry", "-0.10"), ("load heavy", "0.04")]),
        ("{discs: dry, load: none}", [("discs dry, load none", "-0.16")]),
    ],
)
def test_an_allowance_is_added_for_a_reading_taken_in_another_state(
    state: str, allowed: list[tuple[str, str]]
) -> None:
    found = space(low(f"{{at: 12.00, state: {state}}}"), "low")
    assert found.allowed == tuple((words, mm(add)) for words, add in allowed)
    assert found.length == mm("11.50") + sum((mm(add) for _, add in allowed), Length(0))


def test_an_allowance_is_added_once_however_many_readings_were_taken_in_its_state() -> None:
    dry = "{at: 12.00, state: {discs: dry}}"
    assert space(low(dry, dry.replace("12.00", "0.50")), "low").length == mm("11.40")
    other = "{at: 0.50, state: {load: heavy}}"
    assert space(low(dry, other), "low").length == mm("11.44")
    more = "{at: 0.50, state: {discs: dry, load: none}}"
    assert space(low(dry, more), "low").length == mm("11.34")


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("{discs: hot}", "discs hot"),
        ("{load: none}", "load none"),
        ("{air: on}", "air on"),
        ("{discs: dry, air: on}", "air on"),
    ],
)
def test_a_state_that_no_allowance_covers_is_refused(state: str, words: str) -> None:
    own = "{at: [12.00, 12.10], state: " + state + "}"
    found = problem(BENCH, ("depth: [12.00, 12.10, 12.30]", f"depth: {own}"))
    assert found.startswith(
        f"53: job.gaps.low.readings.depth: taken with {words}, which is not what the window "
        "holds for, and the unit file gives no allowance between them; read it again as asked"
    )


def test_the_reading_called_gap_is_refused_where_it_stands() -> None:
    told = "taken with discs dry, which is not what the window holds for"
    for key, text in (
        ("gap", "gap: {at: 0.6, state: {discs: dry}}"),
        ("readings.gap", "readings: {gap: {at: 0.6, state: {discs: dry}}}"),
    ):
        found = problem(BENCH, (LOW[0], f"    fast: {{{text}}}\n"))
        assert found.startswith(f"53: job.gaps.fast.{key}: {told}")


def test_a_reading_that_gaps_share_is_refused_where_it_stands_though_no_gap_is_listed() -> None:
    job = "  readings: {gasket: {at: 0.46, state: {gasket: torn}}}\n"
    found = problem(BENCH, ("  gaps:\n" + LOW[0], job))
    assert found.startswith("52: job.readings.gasket: taken with gasket torn, which is not")


def test_a_shared_reading_is_held_against_each_gap_that_needs_it() -> None:
    loose = "  readings: {gasket: {at: 0.46, state: {gasket: loose}}}\n"
    rear = taken(BENCH, ("  gaps:\n" + LOW[0], loose))
    assert space(rear, "rear").length == mm("0.08")
    front = loose + "  gaps:\n    front: {readings: {depth: 3.00}}\n"
    assert "job.readings.gasket: taken with gasket loose" in problem(
        BENCH, ("  gaps:\n" + LOW[0], front)
    )


def test_the_state_to_read_in_is_the_windows_and_what_the_reading_itself_says() -> None:
    unit = taken(BENCH).unit
    front = unit.gaps["front"]
    layout = front.arrangements["stack"]
    assert expected_state(layout, None) == {"gasket": "pressed"}
    asked = unit.readings["gasket"].model_copy(update={"state": {"gasket": "loose", "air": "off"}})
    assert expected_state(layout, asked) == {"gasket": "loose", "air": "off"}
    case = bench("low: {}")
    assert JobGap(case, "low").off_state(case.unit.gaps["low"].arrangements["stack"], "depth") == {}
