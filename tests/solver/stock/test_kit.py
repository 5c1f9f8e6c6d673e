"""The cheapest kit against every small kit there is, drum by drum by brute force."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from gapwright.stock.instance import gaps_of, posed
from gapwright.stock.kit.service import KitReport, kit_case
from solver.engines.cp_sat import Program
from solver.engines.limits import Clock, Outcome
from solver.stock import kit as kits
from solver.stock.demand_patterns import drums_of, served
from specs.errors import InputError, JudgeError
from specs.files.read import case_of
from specs.formats.yaml import parse
from tests.amounts import few, share
from tests.oracles.brute_stock import KitJob

if TYPE_CHECKING:
    from collections.abc import Mapping

    from solver.stock.demand_patterns import Drum
    from solver.stock.kit import ChosenKit

FLOORS = {
    "kit": 60,
    "no kit": 10,
    "shared part": 30,
    "rule": 30,
    "sold together": 30,
    "frontier": 120,
    "only up to the limit": 60,
    "none clear of the limits": 50,
}


def test_no_small_kit_is_cheaper_or_serves_more_for_as_much() -> None:
    roads: Counter[str] = Counter()
    for seed in few(range(100)):
        job = KitJob(seed)
        report = kit_case(job.case(), job.history, Fraction(6, 10))
        told = [(job.cost(kit), job.served(kit)) for kit in job.kits()]
        assert report.able == max(served for _, served in told), seed
        plenty = max((job.served(kit) + job.only_to_limit(kit) for kit in job.kits()), default=0)
        assert report.able_only_to_limit == plenty - report.able, seed
        roads["none clear of the limits"] += report.able_only_to_limit > 0
        enough = [(cost, -served) for cost, served in told if served >= report.wanted]
        roads.update(job.roads | {"kit" if enough else "no kit"})
        assert (report.kit is None) == (not enough), seed
        if report.kit is not None:
            assert report.kit.proved
            assert (report.kit.cost // 10_000, -report.kit.served) == min(enough), seed
            roads["frontier"] += on_the_frontier(report, told)
            check_worths(job, report)
            for one in (report.kit, *report.frontier):
                close = job.only_to_limit(contents(report, one))
                assert report.only_to_limit(one) == close, seed
                roads["only up to the limit"] += close > 0
    assert {road: roads[road] for road, floor in FLOORS.items() if roads[road] < share(floor)} == {}


def on_the_frontier(report: KitReport, told: list[tuple[int, int]]) -> int:
    """No kit serves as many as a point of the frontier for less, nor more for as much."""
    for point in report.frontier:
        assert min(c for c, n in told if n >= point.served) == point.cost // 10_000
        assert max(n for c, n in told if c <= point.cost // 10_000) == point.served
    return len(report.frontier)


def contents(report: KitReport, kit: ChosenKit) -> Counter[tuple[str, str]]:
    """How many of each size a kit holds."""
    parts = ((report.choices[choice], number) for choice, number in kit.contents.items())
    return Counter({(part.family, part.size): number for part, number in parts})


def check_worths(job: KitJob, report: KitReport) -> None:
    """One pack more and one less, counted drum by drum."""
    assert report.kit
    named = {n: (c.family, c.size) for n, c in enumerate(report.choices)}
    held = contents(report, report.kit)
    for worth in report.worths:
        pack = Counter({named[worth.choice]: job.sold_in[named[worth.choice]]})
        assert job.served(held + pack) - report.kit.served == worth.more
        if held[named[worth.choice]]:
            assert report.kit.served - job.served(held - pack) == worth.less


def test_more_kit_never_serves_fewer_drums() -> None:
    more = 0
    for seed in few(range(40)):
        job = KitJob(seed)
        case = job.case()
        instance, (rows,) = posed(case, gaps_of(case, job.history), job.history)
        drums, rng = drums_of(instance, rows), job.rng
        for _ in range(10):
            some = {choice: rng.randrange(3) for choice in range(len(instance.choices))}
            larger = {choice: number + rng.randrange(2) for choice, number in some.items()}
            assert served(drums, larger) >= served(drums, some), seed
            more += served(drums, larger) > served(drums, some)
    assert more >= share(40)


def test_equal_drums_counted_together_or_apart_give_the_same_kit() -> None:
    for seed in few(range(20)):
        job = KitJob(seed)
        once = kit_case(job.case(), job.history, Fraction(1, 2))
        rows = Counter({row: 3 * n for row, n in job.history.rows.items()})
        thrice = kit_case(job.case(), replace(job.history, rows=rows), Fraction(1, 2))
        assert thrice.able == 3 * once.able
        if once.kit and 2 * once.wanted == once.drums:
            assert thrice.kit
            assert thrice.kit.cost == once.kit.cost


def test_a_kit_that_does_not_serve_what_it_should_is_never_shown(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fewer(drums: Mapping[Drum, int], contents: Mapping[int, int]) -> int:
        return -1 if contents else sum(drums.values())

    monkeypatch.setattr(kits, "served", fewer)
    job = next(job for seed in range(9) if (job := KitJob(seed)))
    with pytest.raises(JudgeError, match="said to serve"):
        kit_case(job.case(), job.history, Fraction(1, 10))


def test_a_kit_that_is_not_proved_says_what_none_is_below(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = Program.least

    def stopped(self: Program, expression: Mapping[int, int], clock: Clock) -> Outcome:
        outcome = whole(self, expression, clock)
        return Outcome("feasible", outcome.values, outcome.bound - 10_000)

    monkeypatch.setattr(Program, "least", stopped)
    job = KitJob(1)
    report = kit_case(job.case(), job.history, Fraction(1, 10))
    assert report.kit
    assert not report.kit.proved
    assert report.kit.at_least == report.kit.cost - 10_000


def test_out_of_time_there_is_no_kit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Program, "least", lambda *_: Outcome("unknown", (), 0))
    job = KitJob(1)
    report = kit_case(job.case(), job.history, Fraction(1, 10))
    assert report.kit is None
    assert report.able >= report.wanted


def test_without_prices_the_fewest_parts_are_chosen() -> None:
    job = KitJob(3)
    job.prices = dict.fromkeys(job.prices, 1)
    text = job.unit.replace(", price: 1", "")
    bare = case_of(parse(text, "unit.yaml"), needs=("unit",))
    report = kit_case(bare, job.history, Fraction(1, 3))
    priced = kit_case(job.case(), job.history, Fraction(1, 3))
    assert not report.priced
    assert report.kit
    assert priced.kit
    assert report.kit.cost == priced.kit.cost


def test_a_rule_whose_parts_stand_in_one_gap_is_for_that_gap() -> None:
    bound = 0
    for seed in few(range(12)):
        job = KitJob(seed)
        head = job.unit.partition("  rules")[0]
        rule = "  rules: [{count: steel/thin, at most: 0"
        texts = (f"{head}{rule}, in: low}}]\n", f"{head}{rule}}}]\n", head)
        cases = [case_of(parse(text, "unit.yaml"), needs=("unit",)) for text in texts]
        said, meant, free = (kit_case(one, job.history, Fraction(1, 3)).kit for one in cases)
        assert meant == said, seed
        bound += meant != free
    assert bound >= share(3)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda text: text.replace(", price: ", ", mark: ", 1), "has no price; others have one"),
        (
            lambda text: text.partition("  rules")[0] + "  rules: [{count: ring, at most: 1}]\n",
            "counts parts of low and rear together; for a choice of stock say `in` which",
        ),
    ],
)
def test_what_a_kit_cannot_heed_is_said(change: object, says: str) -> None:
    job = KitJob(0)
    assert callable(change)
    case = case_of(parse(change(job.unit), "unit.yaml"), needs=("unit",))
    with pytest.raises(InputError, match=says):
        kit_case(case, job.history, Fraction(1, 2))
