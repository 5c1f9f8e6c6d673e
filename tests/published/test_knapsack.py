"""A published multidimensional knapsack as jobs that draw on one shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gapwright.batch.service import plan_cases
from specs.files.read import FilesRead, case_of
from specs.formats import yaml as yaml_door
from tests.published.printed import PUBLISHED

if TYPE_CHECKING:
    from specs.models.case import Case

KNAPSACK = yaml_door.read(PUBLISHED / "standards" / "orlib_mknap1_1.yaml").data
ROWS = [[int(cell) for cell in row] for row in KNAPSACK["rows"]]
FAMILIES = [f"shim {nth}" for nth in range(len(ROWS))]


def job(item: int) -> dict[str, Any]:
    """A job that takes of every size what the item takes of every constraint."""
    plays = {
        family: {
            "window": "0 to 400 mm",
            "space": "room",
            "readings": {"room": "what there is to fill"},
            "stack": [{"repeat": str(row[item]), "of": [family]}],
        }
        for family, row in zip(FAMILIES, ROWS, strict=True)
        if row[item]
    }
    families = {name: {"kind": "washer", "sizes": ["1 mm"]} for name in FAMILIES}
    shelf = dict(zip(FAMILIES, ({"1 mm": n} for n in KNAPSACK["on hand"]), strict=True))
    return {
        "length": "mm",
        "unit": {"name": f"item {item}", "families": families, "end plays": plays},
        "shelf": shelf,
        "job": {
            "name": f"item {item}",
            "priority": KNAPSACK["profits"][item],
            "gaps": {name: {"readings": {"room": "400"}} for name in plays},
        },
    }


def case(item: int) -> Case:
    return case_of(yaml_door.Source("mknap1", job(item), {}), seen=FilesRead())


def test_the_published_optimum_is_found_and_proved() -> None:
    report = plan_cases(case(item) for item in range(6))
    taken = [int(item in report.gaps) for item in range(6)]
    profits = [int(profit) for profit in KNAPSACK["profits"]]
    assert sum(t * p for t, p in zip(taken, profits, strict=True)) == int(KNAPSACK["optimum"])
    assert taken == [int(one) for one in KNAPSACK["solution"]]
    first = report.plan.reached[0]
    assert first.proof != "open"
    assert first.value == sum(profits) - int(KNAPSACK["optimum"])
