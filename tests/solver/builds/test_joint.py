"""Gaps joined into blocks against every way there is of taking one pattern for each gap."""

from __future__ import annotations

from collections import Counter
from itertools import count, product
from random import Random
from typing import TYPE_CHECKING

import pytest

from solver.engines.cp_sat import Program
from solver.engines.limits import Outcome
from solver.problem.shared_parts import Draw
from solver.stock import joint_demand as joint
from solver.stock.joint_demand import blocks_of, joined
from solver.stock.kit import Kits, Offer
from tests.amounts import few, share

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from solver.engines.limits import Clock

CHOICES = range(5)
MOST = 2
FAMILIES = ((0, 1, 2), (0, 1, 2), (3, 4))
"""Of each gap: the last shares none with the others, unless by a part that both hold."""
PLENTY = (4, 5, 4, 3, 2)
"""As many as any drum of these takes."""
FLOORS = {"kit": 25, "no kit": 4, "apart": 20, "part held": 8, "packs": 15}
Drums = Counter[tuple[tuple[Draw, ...], ...]]


def some_drums(rng: Random) -> Drums:
    """A few drums of three gaps; in some a part is held by the second gap and the third."""
    holds = rng.random() < 0.3
    return Counter(
        {
            tuple(
                tuple({draw(rng, families, holds=holds and gap > 0) for _ in range(ways)})
                for gap, families in enumerate(FAMILIES)
                for ways in [rng.choice((0, 1, 2, 2, 3, 3, 3)) if gap == 1 else rng.randint(1, 3)]
            ): rng.randint(1, 4)
            for _ in range(rng.randint(3, 9))
        }
    )


def draw(rng: Random, families: tuple[int, ...], *, holds: bool) -> Draw:
    parts = Counter(rng.choice(families) for _ in range(rng.randint(0, 2)))
    return Draw(tuple(sorted(parts.items())), ((7, rng.choice((1, 3))),) if holds else ())


def by_hand(drum: tuple[tuple[Draw, ...], ...], contents: tuple[int, ...]) -> bool:
    """Whether a kit holds one pattern for each gap, by every choice of them."""
    for patterns in product(*drum):
        held = {share for pattern in patterns for share in pattern.shares}
        taken = Counter(choice for _, choice in held)
        for pattern in patterns:
            taken.update(dict(pattern.parts))
        agree = len(dict(held)) == len(held)
        if agree and all(contents[choice] >= count for choice, count in taken.items()):
            return True
    return False


def contents() -> list[tuple[int, ...]]:
    return [*product(range(MOST + 1), repeat=len(CHOICES))]


@pytest.mark.parametrize(("steps", "ways"), [(5_000_000, 2_000), (5_000_000, 3), (20, 2_000)])
def test_a_drum_is_served_where_each_of_its_blocks_is(
    monkeypatch: pytest.MonkeyPatch, steps: int, ways: int
) -> None:
    monkeypatch.setattr(joint, "MOST_STEPS", steps)
    monkeypatch.setattr(joint, "MOST_WAYS", ways)
    kinds: Counter[str] = Counter()
    for seed in few(range(25)):
        drums = some_drums(Random(seed))  # noqa: S311 - no secret hangs on it
        needs = joined(drums)
        for kit in contents():
            by_blocks = sum(n for need, n in needs.items() if all(by_hand(b, kit) for b in need))
            assert by_blocks == sum(n for drum, n in drums.items() if by_hand(drum, kit)), seed
        kinds.update("one" if len(block) == 1 else "several" for need in needs for block in need)
    assert kinds["one"] >= share(21)
    assert (kinds["several"] > 5) == ((steps, ways) != (5_000_000, 2_000))


def test_no_way_holds_another() -> None:
    ways = 0
    for seed in few(range(25)):
        needs = joined(some_drums(Random(seed)))  # noqa: S311 - no secret hangs on it
        for (some,) in {block for need in needs for block in need}:
            counts = [Counter(dict(one.parts)) for one in some]
            ways += len(counts)
            assert not any(a <= b for n, a in enumerate(counts) for b in counts[n + 1 :]), seed
            assert not any(b <= a for n, a in enumerate(counts) for b in counts[n + 1 :]), seed
    assert ways >= share(201)


def test_gaps_are_a_block_where_they_can_draw_on_a_choice_or_hold_a_part() -> None:
    def taking(*choices: int, part: int | None = None) -> tuple[Draw, ...]:
        shares = () if part is None else ((part, 9),)
        return tuple(Draw(((choice, 1),), shares) for choice in choices)

    assert blocks_of([(taking(0), taking(1), taking(2))]) == [(0,), (1,), (2,)]
    assert blocks_of([(taking(0), taking(1), taking(1, 0))]) == [(0, 1, 2)]
    assert blocks_of([(taking(0), taking(1)), (taking(2), taking(0))]) == [(0, 1)]
    assert blocks_of([(taking(0, part=1), taking(1), taking(2, part=1))]) == [(0, 2), (1,)]
    assert blocks_of([(taking(9), taking(1), taking(2, part=1))]) == [(0, 2), (1,)]
    assert blocks_of([()]) == []


@pytest.mark.parametrize("ways", [2_000, 3])
def test_the_cheapest_kit_of_several_blocks_is_the_cheapest_there_is(
    monkeypatch: pytest.MonkeyPatch, ways: int
) -> None:
    monkeypatch.setattr(joint, "MOST_WAYS", ways)
    roads: Counter[str] = Counter()
    for seed in few(range(100, 140)):
        rng = Random(seed)  # noqa: S311 - no secret hangs on it
        drums = some_drums(rng)
        offers = {c: Offer(rng.choice((1, 2, 3, 5)), rng.choice((1, 1, 2))) for c in CHOICES}
        wanted = max(1, drums.total() * rng.choice((5, 7, 9)) // 10)
        kit = Kits(drums, offers).cheapest(wanted)
        able = sum(n for drum, n in drums.items() if by_hand(drum, PLENTY))
        assert (kit is None) == (able < wanted), seed
        if kit is not None:
            told = told_by_hand(drums, offers, kit.cost)
            assert kit.proved
            assert (kit.cost, -kit.served) == min(
                (cost, -served) for cost, served in told if served >= wanted
            )
        roads["kit" if kit else "no kit"] += 1
        roads["apart"] += len(blocks_of(drums)) > 1
        roads["part held"] += any(one.shares for drum in drums for w in drum for one in w)
        roads["packs"] += any(offers[c].sold_in > 1 for c in kit.contents) if kit else 0
    assert {road: roads[road] for road, floor in FLOORS.items() if roads[road] < share(floor)} == {}


def test_a_kit_that_is_not_proved_costs_at_least_what_its_blocks_cost_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole, less = Program.least, 0
    for seed in few(range(200, 220)):
        drums = some_drums(Random(seed))  # noqa: S311 - no secret hangs on it
        able = Counter({drum: n for drum, n in drums.items() if by_hand(drum, PLENTY)})
        offers = {choice: Offer(2 + choice, 1) for choice in CHOICES}
        wanted, blocks, searches = 1 + able.total() // 2, blocks_of(able), count()
        if len(blocks) < 2 or wanted > able.total():
            continue

        def stopped(
            self: Program,
            expression: Mapping[int, int],
            clock: Clock,
            searches: Iterator[int] = searches,
            last: int = len(blocks),
        ) -> Outcome:
            outcome = whole(self, expression, clock)
            return Outcome("feasible", outcome.values, 0) if next(searches) == last else outcome

        monkeypatch.setattr(Program, "least", stopped)
        kit = Kits(drums, offers).cheapest(wanted)
        assert kit is not None
        alone = 0
        for gaps in blocks:
            part: Drums = Counter()
            for drum, n in able.items():
                part[tuple(drum[gap] for gap in gaps)] += n
            told = told_by_hand(part, offers, kit.cost)
            alone += min(cost for cost, served in told if served >= wanted)
        assert kit.at_least == alone <= kit.cost
        less += kit.proved is False
    assert less >= share(3)


def told_by_hand(drums: Drums, offers: dict[int, Offer], most: int) -> list[tuple[int, int]]:
    """What kits of whole packs cost that cost no more than so much, and how many they serve."""
    packs = [range(0, PLENTY[c] + offers[c].sold_in, offers[c].sold_in) for c in CHOICES]
    priced = [(sum(n * offers[c].price for c, n in enumerate(kit)), kit) for kit in product(*packs)]
    return [
        (cost, sum(n for drum, n in drums.items() if by_hand(drum, kit)))
        for cost, kit in priced
        if cost <= most
    ]
