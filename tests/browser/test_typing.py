"""Typing in a real browser, as badly as it comes: nothing is lost, nothing lands elsewhere."""

from __future__ import annotations

import random
import time
from typing import TYPE_CHECKING

import pytest

from specs.values.lengths import parse_length
from tests.amounts import few

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Locator, Page, Route

    from tests.browser.conftest import Visitor

LOW = "/measure?unit=unit.yaml&gap=low"
CHECK = "/check?from=job-built.yaml"
AT = '[name="job/gaps/low/gap/at"]'
PLACES = ".places input, .measured input"
GO = "button:has-text('choose the parts')"
KEY = 5  # milliseconds between the keys of a gauge
GAUGE = [".0871", ".0872", ".0873", ".0781", ".018", ".020", ".019"]


def trial(page: Page, *sizes: str) -> None:
    for nth, size in enumerate(sizes or ("thick", "thick", "thick", ".0780")):
        page.select_option(f'[name="job/gaps/low/trial/parts/{nth}"]', size)


def gauge(page: Page, *numbers: str) -> None:
    """Type numbers as a gauge does, each with Enter, without a rest."""
    page.keyboard.type("".join(f"{number}\n" for number in numbers), delay=KEY)


def places(page: Page) -> list[Locator]:
    """The fields a length is typed into that are to be seen, in the order of the page."""
    return [one for one in page.locator(PLACES).all() if one.is_visible()]


def values(page: Page, what: str = PLACES) -> list[str]:
    return [one.input_value() for one in page.locator(what).all()]


def turn(page: Page, unit: str) -> None:
    """Touch another unit of length."""
    page.click(f".units >> text='{unit}'")
    page.locator(f".units [aria-pressed=true]:text-is('{unit}')").wait_for()


def press(page: Page, what: str) -> None:
    with page.expect_navigation():
        page.click(what)


@pytest.mark.parametrize("scripts", [True, False])
def test_the_unit_changes_and_nothing_typed_does(visit: Visitor, *, scripts: bool) -> None:
    page = visit(LOW, java_script_enabled=scripts)
    trial(page)
    page.fill('[name="job/gaps/low/trial/measured/0"]', ".0871")
    page.fill(f"{AT} >> nth=0", ".018")
    page.fill(f"{AT} >> nth=2", "0.5 mm")
    page.click(".units >> text='mm'")
    page.locator(".lead b:text-is('mm')").wait_for()
    assert values(page, AT) == [".018 in", "", "0.5 mm"]
    assert page.input_value('[name="job/gaps/low/trial/measured/0"]') == ".0871 in"
    page.fill(f"{AT} >> nth=1", "0,48")
    page.click(".units >> text='thou'")
    page.locator(".lead b:text-is('thou')").wait_for()
    assert values(page, AT) == [".018 in", "0,48 mm", "0.5 mm"]
    press(page, GO)
    page.locator("h1:has-text('FITS')").wait_for()
    page.go_back()
    assert values(page, AT) == [".018 in", "0,48 mm", "0.5 mm"]


def test_a_draft_in_one_unit_is_the_same_draft_in_another(visit: Visitor) -> None:
    page = visit(LOW)
    gauge_from(page, AT, ".018", ".020")
    page.goto(f"{LOW}&length=mm")
    assert values(page, AT) == [".018 in", ".020 in", ""]
    page.fill(f"{AT} >> nth=2", "0,48")
    page.goto(LOW)
    assert values(page, AT) == [".018 in", ".020 in", "0,48 mm"]


def gauge_from(page: Page, field: str, *numbers: str) -> None:
    page.locator(field).first.focus()
    gauge(page, *numbers)


@pytest.mark.parametrize("nth", [0, 2, 4, 5])
def test_a_gauge_goes_on_from_any_place(visit: Visitor, nth: int) -> None:
    """In the order of the page, through what the trial's parts measured, past what is filled."""
    page = visit(LOW)
    page.fill(f"{AT} >> nth=1", ".025")
    places(page)[nth].evaluate("field => field.focus()")
    was = [one.input_value() for one in places(page)]
    empty = [at for at in range(nth + (nth == 5), len(was)) if not was[at]]
    if nth == 5:  # the one that is filled: the hand is there by its own will
        page.keyboard.press("End")
        page.keyboard.press("Enter")
    numbers = GAUGE[: len(empty)]
    gauge(page, *numbers)
    wanted = dict(zip(empty, numbers, strict=True))
    assert [one.input_value() for one in places(page)] == [
        wanted.get(at, was[at]) for at in range(len(was))
    ]
    assert page.evaluate("document.activeElement.textContent") == "choose the parts"


@pytest.mark.parametrize(
    "start", ['[name="job/gaps/low/trial/parts/1"]', ".units >> text='in'", "body",
              '[name="job/gaps/low/now"]'],
)  # fmt: skip
def test_a_number_typed_where_no_text_goes_is_not_lost(visit: Visitor, start: str) -> None:
    page = visit(LOW)
    trial(page, "thick", "thin", "thick", ".0780")
    if start == "body":
        page.evaluate("document.activeElement.blur()")
    else:
        page.locator(start).focus()
    gauge(page, ".0871", ".0872")
    held = [one.input_value() for one in places(page)]
    assert sorted(filter(None, held)) == [".0871", ".0872"]
    assert held.index(".0872") == held.index(".0871") + 1
    sizes = values(page, '[name^="job/gaps/low/trial/parts/"]')
    assert sizes == ["thick", "thin", "thick", ".0780"]


def test_one_number_too_many_is_said_and_sends_nothing(visit: Visitor) -> None:
    page = visit(LOW)
    trial(page)
    gauge_from(page, AT, ".018", ".020", ".019", ".017")
    assert ".017 was typed, and no place is empty" in page.inner_text(".draft.said")
    assert values(page, AT) == [".018", ".020", ".019"]
    page.keyboard.press("Enter")
    page.locator("h1:has-text('FITS')").wait_for()


def test_a_gauge_on_the_page_after_assembly(visit: Visitor) -> None:
    page = visit("/check?unit=unit.yaml&gap=low")
    fields = places(page)
    fields[1].focus()
    gauge(page, *GAUGE[: len(fields) - 1])
    assert [one.input_value() for one in fields] == ["", *GAUGE[: len(fields) - 1]]


def test_a_unit_touched_in_the_middle_of_a_number_waits_for_it(visit: Visitor) -> None:
    page = visit(LOW)
    page.locator(AT).first.focus()
    page.evaluate(
        """setTimeout(() => document.querySelectorAll('.units button.plain')[1].click(), 30)"""
    )
    gauge(page, ".018", ".020", ".019")
    page.locator(".lead b:text-is('mm')").wait_for()
    held = values(page, AT)
    assert [one.removesuffix(" in") for one in held] == [".018", ".020", ".019"]
    assert held[0] == ".018 in"


def test_the_verdict_says_what_waits(visit: Visitor) -> None:
    page = visit("/measure?unit=unit.yaml")
    trial(page)
    gauge_from(page, AT, ".018", ".020", ".019")
    page.locator(".live:has-text('1 of 6 fit')").wait_for()
    told = page.inner_text(".live")
    assert "proved" not in told
    assert "overdrive waits for gap, trial build" in told


def test_the_verdict_says_no_reading_and_the_trial_build_to_make_next(visit: Visitor) -> None:
    page = visit(LOW)
    trial(page)
    gauge_from(page, AT, ".018", "0", ".019")
    page.locator(".live:has-text('low: NO READING, trial build next: th')").wait_for()
    for field in page.locator(AT).all():
        field.fill("")
    page.fill('[name="job/gaps/low/gap/proud"]', ".004")
    page.locator(".live:has-text('no fit, proved')").wait_for()


def test_a_verdict_goes_with_the_key_that_makes_it_old(visit: Visitor) -> None:
    page = visit(LOW)
    trial(page)
    gauge_from(page, AT, ".018", ".020", ".019")
    live = page.locator(".live")
    average = page.locator(".reading:has(legend:text-is('gap')) .average").first
    page.locator(".live:has-text('low 0.0466 in')").wait_for()
    page.locator(AT).nth(1).focus()
    for key in ("End", "x"):
        page.keyboard.press(key)
    assert not live.is_visible()
    assert "0.019" not in average.inner_text()
    average.locator("text=is no length").or_(average.locator("text=unknown unit")).wait_for()
    page.wait_for_timeout(700)
    assert "0.0466" not in (live.inner_text() if live.is_visible() else "")


def test_a_late_reply_replaces_no_newer_one(visit: Visitor) -> None:
    """The first verdict comes after the second: it is of readings that are no more."""
    page = visit(LOW)
    held: list[Route] = []

    def first_waits(route: Route) -> None:
        held.append(route)
        if len(held) > 1:
            route.continue_()

    trial(page)
    page.route("**/api/fit", first_waits)
    # What the page gives up is answered all the same, as over a network that cannot be told.
    page.evaluate("AbortController.prototype.abort = () => {}")
    gauge_from(page, AT, ".018", ".020", ".019")
    until(page, lambda: bool(held))
    page.fill(f"{AT} >> nth=0", ".024")
    page.locator(".live:has-text('0.0486 in')").wait_for()
    held[0].continue_()
    page.wait_for_timeout(500)
    assert "0.0486 in" in page.inner_text(".live")


def until(page: Page, come: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not come():
        assert time.monotonic() < end, "it did not come"
        page.wait_for_timeout(20)


@pytest.mark.parametrize("seed", few(range(12), 1))
@pytest.mark.parametrize("path", [LOW, "/check?unit=unit.yaml&gap=low"])
def test_nothing_typed_is_lost_whatever_comes_between(visit: Visitor, seed: int, path: str) -> None:
    """Units, reloads, going on and back, other packs, in any order, against a plain list."""
    draws = random.Random(seed)  # noqa: S311 - no secret
    page, unit = visit(path), "in"
    typed: dict[int, tuple[str, str]] = {}

    def type_one() -> None:
        empty = [at for at in range(len(places(page))) if at not in typed]
        if not empty:
            return
        at = draws.choice(empty)
        figure = draws.randrange(18, 90)
        number = {"in": f".0{figure}", "mm": f"{figure / 40:.2f}", "thou": f"{figure}"}[unit]
        places(page)[at].focus()
        gauge(page, number)
        typed[at] = number, unit

    def change() -> None:
        nonlocal unit
        unit = draws.choice(["in", "mm", "thou"])
        turn(page, unit)

    def on_and_back() -> None:
        press(page, ".go button")
        page.go_back()

    def to_another_pack() -> None:
        for name in ("overdrive", "low") if page.locator(".packs").count() else ():
            page.click(f".packs >> text='{name}'")
            page.locator(f".packs [aria-pressed=true]:text-is('{name}')").wait_for()

    deeds: list[Callable[[], object]] = [
        type_one,
        type_one,
        change,
        page.reload,
        on_and_back,
        to_another_pack,
    ]
    for _ in range(14):
        draws.choice(deeds)()
        now = [one.input_value() for one in places(page)]
        for at, value in enumerate(now):
            assert bool(value) == (at in typed), (at, now, typed)
            if value:
                number, was = typed[at]
                assert parse_length(value, unit) == parse_length(number, was), (at, now, typed)  # type: ignore[arg-type]
