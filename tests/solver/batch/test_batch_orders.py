"""Orders for several rebuilds: received, they complete what they promise, and none is cheaper."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import product

from solver.batch import Batch, plan
from solver.batch.purchase import order_for_all, order_for_one_more, order_within
from solver.batch.shadow_prices import binding, shadow_prices_of
from solver.batch.shortages import lacking
from solver.engines.cp_sat import Program
from solver.engines.limits import Clock, Limits
from tests.amounts import few, share
from tests.oracles.random_batches import random_batch


def clock() -> Clock:
    return Clock(Limits())


def batches(first: int, number: int, pack: int = 1) -> list[Batch]:
    drawn = (random_batch(seed, most=4).batch for seed in few(range(first, first + number), 12))
    return [
        replace(batch, items=tuple(replace(item, pack=pack) for item in batch.items))
        for batch in drawn
    ]


def complete(batch: Batch) -> int:
    return sum(build is not None for build in plan(batch).builds)


def test_an_order_once_received_completes_what_it_promised() -> None:
    orders: Counter[str] = Counter()
    for batch in batches(0, 40, pack=2):
        order = order_for_all(batch, clock())
        if order is None:
            continue
        promised = sum(build is not None for build in order.builds)
        free = sum(not job.held for job in batch.jobs)
        assert promised == free - sum(not batch.jobs[n].held for n in order.cannot)
        assert complete(batch.with_more(order.brings(batch))) == promised
        orders["all"] += 1
        more = order_for_one_more(found := plan(batch), clock())
        if more is not None:
            before = sum(build is not None for build in found.builds)
            assert complete(batch.with_more(more.brings(batch))) > before
            orders["one more"] += 1
    assert orders["all"] >= share(21)
    assert orders["one more"] >= share(9)


def test_no_cheaper_order_does_as_well() -> None:
    tried = 0
    for batch in batches(100, 25):
        order = order_for_all(batch, clock())
        bought = [n for n, item in enumerate(batch.items) if item.bought]
        if order is None or not order.cost or len(order.packs) > 2 or len(bought) > 8:
            continue
        promised = sum(build is not None for build in order.builds)
        most = range(sum(packs for _, packs in order.packs) + 1)
        for counts in product(most, repeat=min(len(bought), 4)):
            packs = dict(zip(bought, counts, strict=False))
            prices = [batch.items[n].price for n, count in packs.items() if count]
            cost = sum((batch.items[n].price or 0) * count for n, count in packs.items())
            if None not in prices and cost < order.cost:
                assert complete(batch.with_more(packs)) < promised
                tried += 1
    assert tried >= share(6)


def test_two_engines_find_orders_of_the_same_cost() -> None:
    compared = 0
    for batch in batches(200, 30, pack=3):
        one, two = (order_for_all(batch, clock(), *door) for door in ((), (Program,)))
        assert (one is None) == (two is None)
        if one and two:
            assert one.cost == two.cost
            assert sum(n for _, n in one.packs) == sum(n for _, n in two.packs)
            compared += 1
    assert compared >= share(11)


def test_a_budget_is_never_passed_and_buys_what_it_can() -> None:
    bought = 0
    for batch in batches(300, 30):
        poor = order_within(batch, 0, clock())
        some = order_within(batch, 40_000, clock())
        if poor is None or some is None:
            continue
        assert poor.cost == 0
        assert some.cost is not None
        assert some.cost <= 40_000
        assert complete(batch.with_more(some.brings(batch))) >= complete(batch)
        bought += some.cost > 0
    assert bought >= share(6)


def test_one_more_of_a_size_brings_what_is_said() -> None:
    gains = 0
    for batch in batches(400, 30):
        found = plan(batch)
        for worth in shadow_prices_of(found, len(batch.levels), clock()):
            assert worth.gain >= 0
            assert worth.proved
            gains += worth.level is not None
        assert set(binding(found)) <= set(batch.sizes)
    assert gains >= share(4)


def test_what_a_job_lacks_completes_it_when_it_is_bought() -> None:
    bought = 0
    for batch in batches(500, 30):
        found = plan(batch)
        for short in lacking(found, clock()):
            if not short.short:
                continue
            pools = batch.pools[short.job]
            items = {
                next(i for i in pools[c] if batch.items[i].bought): count
                for c, count in short.short
            }
            richer = plan(batch.with_more(items))
            assert sum(b is not None for b in richer.builds) > sum(
                b is not None for b in found.builds
            )
            bought += 1
    assert bought >= share(6)
