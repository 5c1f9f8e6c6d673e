"""gapwright in a script: every verb is a function that is told by its own manual and rendered."""

from __future__ import annotations

import inspect
import json
import pkgutil
from fractions import Fraction
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import gapwright
from gapwright import Limits, Measured, Period
from gapwright.demo import write_demo
from inventory import create_shelf

if TYPE_CHECKING:
    from collections.abc import Callable

VERBS = (
    "fit_job", "check_job", "plan_jobs", "cover_unit", "choose_kit", "choose_shelf",
    "identify_part", "open_shelf", "render", "check_kit",
)  # fmt: skip


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("library") / "demo"
    write_demo(folder)
    rows = (folder / "past.csv").read_text(encoding="utf-8-sig").splitlines()[:61]
    low = "".join(f"{row.split(',')[0]}\n" for row in rows)
    (folder / "low.csv").write_text(low, encoding="utf-8")
    return folder


def shelf_of(demo: Path) -> object:
    few = Period(Fraction(2), 1, Fraction(1, 10), scenarios=20, weeks=100)
    return gapwright.choose_shelf(
        demo / "unit.yaml", few, [demo / "low.csv"], str(demo / "shelf.yaml"),
        Limits(seconds=30.0), workers=1,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("ask", "shape", "words"),
    [
        (lambda demo: gapwright.fit_job(demo / "job.yaml"), "fit 4", "FITS"),
        (lambda demo: gapwright.check_job(demo / "job-built.yaml"), "check 3", "WINDOW"),
        (lambda demo: gapwright.plan_jobs([demo / "job.yaml"]), "batch 3", "1 of 1 job"),
        (
            lambda demo: gapwright.cover_unit(
                demo / "job.yaml", options=gapwright.CoverOptions("low", alone=True),
                history=demo / "past.csv", step="0.002",
            ),
            "cover 2", "low: room for the stack",
        ),
        (
            lambda demo: gapwright.choose_kit(
                demo / "unit.yaml", [demo / "low.csv"], Fraction(1, 4), Limits(seconds=30.0)
            ),
            "stock kit 2", "KIT for",
        ),
        (shelf_of, "stock shelf 2", "SHELF for"),
        (
            lambda demo: gapwright.identify_part("0.0651in", demo / "unit.yaml"),
            "tell 1", "0.0651 in",
        ),
        (lambda demo: gapwright.check_kit(demo / "kit.yaml"), "kit check 2", "COVERS"),
    ],
)  # fmt: skip
def test_each_verb_is_a_function_whose_answer_is_rendered(
    demo: Path, ask: Callable[[Path], object], shape: str, words: str
) -> None:
    found = ask(demo)
    assert words in gapwright.render(found)
    told = json.loads(gapwright.render(found, "mm", as_json=True))
    assert told["shape"] == f"gapwright {shape}"


def test_lengths_are_rendered_in_the_unit_that_is_asked_for(demo: Path) -> None:
    report = gapwright.fit_job(demo / "job.yaml")
    assert report.length == "in"
    assert " mm" not in gapwright.render(report)
    assert gapwright.render(report, "in") == gapwright.render(report)
    assert " mm" in gapwright.render(report, "mm")


def test_what_is_no_answer_is_not_rendered() -> None:
    with pytest.raises(TypeError, match="Path is nothing that gapwright found"):
        gapwright.render(Path())


def test_a_ledger_is_opened(tmp_path: Path) -> None:
    create_shelf(tmp_path / "shop.db")
    with gapwright.open_shelf(tmp_path / "shop.db") as shelf:
        assert shelf.balances() == ()
        assert shelf.verify().entries == 0


def test_a_part_is_identified_by_all_that_is_known_of_it(demo: Path) -> None:
    unit = demo / "unit.yaml"
    (alone,) = gapwright.identify_part("2.311 mm", unit).part.at
    known = Measured((alone,), seen=(("kind", "friction"), ("teeth", "40")), label="box 1")
    told = gapwright.identify_part(known, unit)
    assert "friction" in told.candidate.family
    assert gapwright.render(told).startswith("box 1, ")


@pytest.mark.parametrize(
    ("part", "sure", "sentence"),
    [
        ("thick", 95.0, "is no length"),
        ("0.0651in", 40.0, "write percent above 50"),
        (Measured(()), 95.0, "the part has no thickness"),
        (Measured((gapwright.Length(1_650_000),), gauge="eye"), 95.0, "eye"),
    ],
)
def test_what_cannot_be_identified_is_refused(
    demo: Path, part: Measured | str, sure: float, sentence: str
) -> None:
    with pytest.raises(gapwright.InputError, match=sentence):
        gapwright.identify_part(part, demo / "unit.yaml", sure)


@pytest.mark.parametrize("name", VERBS)
def test_each_function_has_its_manual(name: str) -> None:
    manual = inspect.getdoc(getattr(gapwright, name)) or ""
    for part in ("Parameters\n---", "Raises\n---"):
        assert part in manual
    assert "Returns\n---" in manual or "Yields\n---" in manual
    asked = inspect.signature(getattr(gapwright, name)).parameters
    section = manual.partition("Parameters\n")[2].partition("\n\n")[0]
    assert [one for one in asked if one not in section.replace(",", " ").split()] == []


def test_no_name_is_a_module_or_means_another_verb() -> None:
    inside = {module.name for module in pkgutil.iter_modules(gapwright.__path__)}
    assert not inside & {*gapwright.__all__}
    for _, home, is_package in pkgutil.walk_packages(gapwright.__path__, "gapwright."):
        if is_package and home.count(".") == 1:
            import_module(home)
    assert callable(gapwright.render)
