"""The pages beside the bench in a real browser: the plan, the counter, the editors."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe

from gapwright.demo import write_demo
from tests.amounts import spread
from tests.browser.test_bench_page import NARROW, press, wide
from tests.gapwright.web.serve_command import served

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.browser.conftest import Visitor

ADDRESSES = (
    "/plan", "/cover?unit=unit.yaml", "/files", "/edit?file=unit.yaml", "/shelf?shelf=shelf.yaml",
    "/shelf?shelf=shop.db", "/kit", "/kit-chosen?unit=unit.yaml&history=past.csv&share=80",
    "/covered?unit=unit.yaml&shelf=shelf.yaml&gap=low",
)  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of these tests alone: they change its files."""
    from inventory import create_shelf, open_shelf
    from inventory.movements import Movement, Part, Request

    folder = tmp_path_factory.mktemp("floor") / "demo"
    write_demo(folder)
    (folder / "past.csv").write_text("low,count\n.97,30\n.99,60\n1.3,4\n", encoding="utf-8")
    create_shelf(str(folder / "shop.db"))
    with open_shelf(str(folder / "shop.db")) as shelf:
        part = Part("low steel", "thick", bin="B1")
        shelf.post(Request("in", "mary", "", (Movement("receive", part, 9),)))
    return folder


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with served(folder) as port:
        yield f"http://localhost:{port}"


def planned(page: Page) -> None:
    """Press for a plan, and wait until it is there, however long that takes."""
    page.click("button:has-text('plan them')")
    page.locator("h1.verdict").wait_for(timeout=20_000)


def test_a_planner_plans_and_takes_the_table_along(visit: Visitor) -> None:
    page = visit("/", width=1100)
    press(page, "text=plan several jobs")
    page.uncheck('[name="job"][value="job.yaml"]')
    planned(page)
    assert page.inner_text("h1") == "0 of 1 jobs can be completed, proved best"
    assert "for want of" in page.inner_text("[aria-labelledby=left-1]")
    assert "jobs completed" in (page.locator("figure img").get_attribute("alt") or "")
    with page.expect_download() as kept:
        page.click("text=the plan as a table")
    assert kept.value.suggested_filename == "plan.csv"
    page.reload()
    assert page.inner_text("h1") == "0 of 1 jobs can be completed, proved best"
    press(page, "text=plan otherwise")
    assert not page.is_checked('[name="job"][value="job.yaml"]')


def test_a_plan_needs_no_scripts(visit: Visitor) -> None:
    page = visit("/plan", java_script_enabled=False)
    planned(page)  # the page itself asks again
    assert "1 of 2 jobs can be completed" in page.inner_text("h1")


def test_at_the_counter_a_kit_is_shown_with_its_picture(visit: Visitor) -> None:
    page = visit("/cover", width=1100)
    page.select_option('[name="shelf"]', "shelf.yaml")
    page.select_option('[name="gap"]', "low")
    press(page, "button:has-text('show what it serves')")
    assert page.inner_text("h1").endswith("what shelf.yaml serves")
    box = page.locator("figure img").bounding_box()
    assert box
    assert box["width"] > 500
    served_in = page.inner_text("section.gap")
    press(page, ".units a:has-text('mm')")
    assert " mm" in page.inner_text("section.gap")
    assert page.inner_text("section.gap") != served_in


def test_a_fault_in_a_file_is_led_to_and_mended(visit: Visitor, folder: Path) -> None:
    before = (folder / "unit.yaml").read_text(encoding="utf-8")
    page = visit("/edit?file=unit.yaml", width=1100)
    page.fill("textarea", before.replace("window:", "windwo:", 1))
    press(page, "button:has-text('save it')")
    assert 'did you mean "window"?' in page.inner_text(".faults")
    page.click(".faults a")
    marked = page.evaluate("(([text]) => text.value.slice(text.selectionStart, text.selectionEnd))"
                           "([document.activeElement])")  # fmt: skip
    assert "windwo:" in marked
    page.keyboard.type(marked.replace("windwo:", "window:"))
    press(page, "button:has-text('save it')")
    assert page.inner_text("[role=status]") == "saved"
    assert (folder / "unit.yaml").read_text(encoding="utf-8") == before


@pytest.mark.parametrize("shelf", ["shelf.yaml", "shop.db"])
def test_a_shelf_is_counted_without_a_line_of_yaml(visit: Visitor, shelf: str) -> None:
    page = visit("/files", width=NARROW)
    press(page, f".doors a:has-text('{shelf}') >> nth=0")
    page.get_by_label("number for low steel thick bin B1").fill("7")
    page.get_by_label("so many were counted").check()
    press(page, "button:has-text('take the numbers')")
    page.locator("[role=status]").wait_for()
    row = page.locator("li:has(input[aria-invalid], input)").filter(has_text="thick bin B1").first
    assert "7 on hand" in row.inner_text()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_bars_the_way_of_those_who_see_or_touch_otherwise(
    visit: Visitor, scheme: str
) -> None:
    page = visit("/plan", color_scheme=scheme)
    planned(page)
    addresses = [page.url, *ADDRESSES]
    if scheme == "dark":  # nothing but the colours is another
        addresses = [*spread(addresses, 4)]
    colours = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
    for address in addresses:
        page.goto(address)
        told = Axe().run(page, options=colours if scheme == "dark" else None).response
        assert told["passes"]
        found = told["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], address


def test_a_phone_shows_all_of_it_and_a_thumb_meets_it(visit: Visitor) -> None:
    page = visit("/plan", width=NARROW)
    planned(page)
    for address in [page.url, *ADDRESSES]:
        page.goto(address)
        assert not wide(page), address
        small = page.evaluate(SMALL)
        assert small == [], address


SMALL = """() => [...document.querySelectorAll("main a, main button, main select, main summary,"
  + " main input:not([type=hidden]), main .tick")]
  .filter((one) => one.offsetParent && !one.closest(".tick") || one.matches(".tick"))
  .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect().height])
  .filter(([, high]) => high < 44)"""


def test_one_can_do_without_a_mouse(visit: Visitor) -> None:
    page = visit("/cover?unit=unit.yaml&shelf=shelf.yaml&gap=low")
    page.locator('[name="step"]').focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.innerText") == "show what it serves"
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert page.locator("figure img").is_visible()
