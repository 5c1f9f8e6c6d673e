"""The bench page in a real browser, as a technician uses it: by touch, by a gauge, by keyboard."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.amounts import spread

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

    from tests.browser.conftest import Visitor

LOW = "/measure?unit=unit.yaml&gap=low"
AT = '[name="job/gaps/low/gap/at"]'
GO = "button:has-text('choose the parts')"
NARROW = 360


def fill_in(page: Page, *places: str, job: str = "J-77") -> None:
    """Tell the trial build and the job; type the places as a gauge does, each with Enter."""
    page.fill('[name="job/name"]', job)
    for nth, size in enumerate(["thick", "thick", "thick", ".0780"]):
        page.select_option(f'[name="job/gaps/low/trial/parts/{nth}"]', size)
    page.select_option('[name="shelf"]', "shelf.yaml")
    page.locator(AT).first.focus()
    for place in places:
        page.keyboard.type(place)
        page.keyboard.press("Enter")


def press(page: Page, what: str) -> None:
    """Press something that leads to another page, and wait for it."""
    with page.expect_navigation():
        page.click(what)


def wide(page: Page) -> bool:
    """Whether anything stands out beyond the edge of the screen."""
    return bool(page.evaluate("document.documentElement.scrollWidth > innerWidth"))


def test_from_the_unit_to_the_printed_sheet(visit: Visitor) -> None:
    page = visit("/")
    press(page, "text=Harrow 4 >> nth=0")
    fill_in(page, ".018", "20 thou", "0,4826 mm")
    average = page.locator(".reading:has(legend:text-is('gap')) .average").first
    average.wait_for()
    assert average.inner_text() == "average 0.019 in, spread 0.002 in"
    live = page.locator(".live")
    live.wait_for()
    assert "low 0.0466 in" in live.inner_text()
    press(page, GO)
    assert "FITS, proved best" in page.inner_text("h1")
    assert page.inner_text("#card-1") == "low: clearance 0.0466 in"
    assert "bin C2 1 x low ring .0700" in page.inner_text(".take")
    stack = page.locator(".card svg").nth(1)
    assert "the stack as it stands on the bench" in stack.inner_html()
    press(page, "text=the next-best builds")
    assert "There is no other." in page.inner_text(".others")
    press(page, "text=bench sheet, A4")
    assert page.title() == "gapwright bench sheet: J-77, Harrow 4"
    assert page.pdf().startswith(b"%PDF")


def test_the_next_best_builds_are_one_touch_away(visit: Visitor) -> None:
    page = visit("/fit?from=job.yaml")
    press(page, "text=the next-best builds")
    builds = page.locator(".others details")
    assert builds.count() == 4
    builds.first.locator("summary").click()
    assert builds.first.locator("svg").first.is_visible()


def test_a_gauge_fills_one_place_after_another(visit: Visitor) -> None:
    page = visit(LOW)
    fill_in(page, ".018", ".020", ".019")
    assert [field.input_value() for field in page.locator(AT).all()] == [".018", ".020", ".019"]
    assert page.evaluate("document.activeElement.textContent") == "choose the parts"
    page.keyboard.press("Enter")
    page.wait_for_url("**/fit?**")
    assert "FITS" in page.inner_text("h1")


def test_what_is_typed_outlives_a_reload(visit: Visitor) -> None:
    page = visit(LOW)
    fill_in(page, ".018", ".020")
    page.reload()
    assert "is back" in page.inner_text(".draft")
    assert page.locator(AT).nth(1).input_value() == ".020"
    page.click("text=start afresh")
    page.wait_for_load_state()
    assert page.locator(AT).nth(1).input_value() == ""
    assert page.locator(".draft").count() == 0


def test_one_pack_at_a_time_and_nothing_typed_is_lost(visit: Visitor) -> None:
    page = visit("/measure?unit=unit.yaml")
    fill_in(page, ".018", ".020", ".019")
    press(page, ".packs >> text=overdrive")
    assert page.inner_text("section.gap h2").startswith("overdrive pack, window 0.030")
    assert page.locator("section.gap").count() == 1
    page.select_option('[name="job/gaps/overdrive/trial/parts/0"]', ".0640")
    page.fill('[name="job/gaps/overdrive/gap/at"]', ".034")
    press(page, ".packs >> text=all")
    assert page.locator(AT).nth(1).input_value() == ".020"
    assert page.input_value('[name="job/gaps/overdrive/gap/at"]') == ".034"
    press(page, GO)
    assert page.inner_text("#card-1").startswith("low: clearance")
    assert page.inner_text("#card-2").startswith("overdrive: clearance")


def test_a_lost_connection_loses_nothing(visit: Visitor) -> None:
    page = visit(LOW)
    fill_in(page, ".018", ".020", ".019")
    page.context.set_offline(True)
    page.click(GO)
    page.locator(".live:has-text('No connection')").wait_for()
    assert page.locator(AT).first.input_value() == ".018"
    page.context.set_offline(False)
    press(page, GO)
    page.wait_for_url("**/fit?**")
    assert "FITS" in page.inner_text("h1")


def test_a_mistake_in_typing_is_told_at_its_field(visit: Visitor) -> None:
    page = visit(LOW)
    fill_in(page, "o.18", ".020", ".019")
    told = page.locator(".average:has-text('o.18')")
    told.wait_for()
    assert "is no length" in told.inner_text()
    press(page, GO)
    wrong = page.locator(".wrong")
    wrong.wait_for()
    assert "place 1: 'o.18' is no length" in wrong.inner_text()
    field = page.locator(AT).first
    assert field.get_attribute("aria-invalid") == "true"
    assert field.get_attribute("aria-describedby") == wrong.get_attribute("id")
    field.fill(".018")
    press(page, GO)
    page.locator("h1:has-text('FITS')").wait_for()


def test_another_unit_of_length_is_one_touch_away_and_changes_no_reading(visit: Visitor) -> None:
    page = visit(LOW)
    fill_in(page, ".018", ".020", ".019")
    press(page, GO)
    press(page, ".units >> text=mm")
    assert page.inner_text("#card-1") == "low: clearance 1.184 mm"
    press(page, "text=change the readings")
    assert page.locator(AT).first.input_value() == ".018 in"
    page.locator(AT).nth(2).fill("0,4826")
    press(page, GO)
    assert page.inner_text("#card-1") == "low: clearance 1.184 mm"


def test_no_fit_is_advice(visit: Visitor) -> None:
    page = visit("/")
    press(page, "text=J-1043")
    press(page, GO)
    assert "NO FIT, proved" in page.inner_text("h1")
    assert "buy 1 x low steel thin" in page.inner_text(".advice")
    assert page.locator("text=bench sheet").count() == 0


def test_after_assembly(visit: Visitor) -> None:
    page = visit("/")
    press(page, "text=J-1042, after assembly")
    press(page, GO)
    press(page, "text=check what was built")
    press(page, "text=compare with the promise")
    assert "OUT OF ITS WINDOW" in page.inner_text("h1")
    assert "overdrive: measured 0.0523 in" in page.inner_text("main")
    press(page, "text=change what was measured")
    for place in page.locator('[name="job/gaps/overdrive/as built/at"]').all():
        place.fill(".043")
    press(page, "text=compare with the promise")
    assert "AS WORKED OUT" in page.inner_text("h1")


def test_a_job_is_kept_and_found_again(visit: Visitor, folder: Path) -> None:
    page = visit(LOW)
    fill_in(page, ".018", ".020", ".019", job="J-80 <kept>")
    press(page, GO)
    press(page, "text=keep this job as a file")
    assert "kept as J-80-kept.yaml" in page.inner_text("main")
    press(page, "text=units and jobs")
    press(page, "text=J-80 <kept>")
    assert page.locator(AT).nth(1).input_value() == ".020"
    page.locator(AT).nth(1).fill(".021")
    press(page, GO)
    press(page, "text=keep it in its file")
    assert "[.018, .021, .019]" in (folder / "J-80-kept.yaml").read_text(encoding="utf-8")


def test_parts_are_reserved_and_given_back(visit: Visitor) -> None:
    page = visit(LOW)
    fill_in(page, ".018", ".020", ".019", job="J-81")
    page.select_option('[name="shelf"]', "shop.db")
    press(page, GO)
    assert "nothing is reserved for J-81" in page.inner_text("main")
    press(page, "text=reserve these parts")
    assert "4 parts are reserved for J-81" in page.inner_text("main")
    press(page, "text=give them back")
    assert "nothing is reserved for J-81" in page.inner_text("main")


def test_it_works_without_scripts(visit: Visitor) -> None:
    page = visit(LOW, java_script_enabled=False)
    page.fill('[name="job/name"]', "J-82")
    for nth, size in enumerate(["thick", "thick", "thick", ".0780"]):
        page.select_option(f'[name="job/gaps/low/trial/parts/{nth}"]', size)
    for place, typed in zip(page.locator(AT).all(), [".018", ".020", ".019"], strict=True):
        place.fill(typed)
    press(page, GO)
    assert "FITS, proved best" in page.inner_text("h1")
    press(page, "text=keep this job as a file")
    assert "kept as J-82.yaml" in page.inner_text("main")
    press(page, "text=check what was built")
    page.fill('[name="job/gaps/low/as built/at"] >> nth=0', ".047")
    press(page, "text=compare with the promise")
    assert "AS PROMISED" in page.inner_text("h1")


def test_by_keyboard_alone(visit: Visitor) -> None:
    page = visit("/")

    def tab_to(name: str) -> None:
        script = "e => document.activeElement?.matches(e)"
        for _ in range(80):
            if page.evaluate(script, name):
                return
            page.keyboard.press("Tab")
        raise AssertionError(f"{name} is not reached")

    tab_to('a[href="/measure?unit=unit.yaml"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/measure?**")
    for nth, size in enumerate(["thick", "thick", "thick", ".0780"]):
        tab_to(f'[name="job/gaps/low/trial/parts/{nth}"]')
        page.keyboard.type(size)
    tab_to(AT)
    page.keyboard.type(".019")
    tab_to("button[type=submit]:not(.plain)")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    page.wait_for_url("**/fit?**")
    assert "FITS, proved best" in page.inner_text("h1")


SEEN = [
    "/", LOW, "/api", "/fit?from=job.yaml&best=5", "/fit?from=job-no-fit.yaml",
    "/check?from=job-built.yaml", "/checked?from=job-built.yaml", "/nothing",
    "/fit?unit=unit.yaml&shelf=shelf.yaml&length=in&job/gaps/low/gap/at=47",
]  # fmt: skip


SMALL = """() => [...document.querySelectorAll(
  "main button, main select, main summary, main input:not([type=hidden], [type=checkbox]), "
  + ".tick, .top a, .top button, a.door, .doors a"
)].filter((one) => one.offsetParent && one.getBoundingClientRect().height < 48)
  .map((one) => one.outerHTML.slice(0, 120))"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everybody_can_use_it(visit: Visitor, scheme: str) -> None:
    """No rule of WCAG 2 A and AA that axe-core knows is broken, in light and in dark."""
    page = visit("/", color_scheme=scheme)
    levels = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]
    rules = {"type": "tag", "values": levels}
    if scheme == "dark":  # nothing but the colours is another
        rules = {"type": "rule", "values": ["color-contrast"]}
    for path in SEEN if scheme == "light" else spread(SEEN, 3):
        page.goto(path)
        found = Axe().run(page, options={"runOnly": rules})
        assert found.response["passes"]
        told = [
            (path, one["id"], one["nodes"][0]["html"][:200]) for one in found.response["violations"]
        ]
        assert told == []


def test_what_is_touched_is_large_and_nothing_is_cut_off_on_a_phone(visit: Visitor) -> None:
    page = visit("/", width=NARROW)
    for path in SEEN:
        page.goto(path)
        assert not wide(page), path
        small = page.evaluate(SMALL)
        assert small == [], path


def test_light_and_dark_are_one_touch_apart(visit: Visitor) -> None:
    page = visit("/", color_scheme="light")
    ground = "getComputedStyle(document.body).backgroundColor"
    light = page.evaluate(ground)
    page.click("text=light or dark")
    dark = page.evaluate(ground)
    assert dark != light
    page.reload()
    assert page.evaluate(ground) == dark
