"""Every way out where nothing fits, held against another solver and a search of all purchases."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from itertools import combinations, product
from math import prod
from random import Random
from typing import TYPE_CHECKING

from solver import Limits, NoFit, fit
from solver.engines.limits import Clock
from solver.explain.conditions import Condition, conditions_of
from solver.explain.conflict import reason_of
from solver.explain.ways_out import WayOut, ways_out
from solver.problem import judge
from tests.amounts import few, share
from tests.oracles.jobs_by_hand import case_from
from tests.oracles.kept_conditions import can_hold, only, stocked, unfits, with_catalogue
from tests.oracles.random_jobs import random_job
from tests.oracles.values_of_builds import allowed, measured

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.problem.gaps import GridGap
    from solver.problem.instance import Build, Instance
    from tests.oracles.kept_conditions import Unfit
    from tests.oracles.random_jobs import RandomJob

SEEDS = few(range(500))
ORDERED = few(range(84, 584))
ASKING = few(range(20_000, 20_400))
PRICED = few(range(30_000, 31_500))
PRICES = ["0.50", "1", "1.25", "2", "3", "7.40"]
UNIT = 10_000  # of a price
UNPRICED = """
length: mm
unit:
  families: {ring: {kind: ring, sizes: {bare: 1.5, priced: {thickness: 1.6, price: 3}, thick: 2.5}}}
  end plays:
    front play: {window: 0.1 to 0.4, space: d, readings: {d: room}, stack: [ring]}
shelf: {ring: {thick: 1}}
job: {gaps: {front play: {readings: {d: 1.8}}}}
"""
TOGETHER = """
length: mm
unit:
  families:
    ring:
      kind: ring
      sizes: {a: {thickness: 1.5, price: 3}, b: {thickness: 1.6, price: 2}}
    washer:
      kind: washer
      sizes: {v: {thickness: 1.1, price: 5}, w: {thickness: 1, price: 1.5}}
  end plays:
    front play: {window: 0.1 to 0.4, space: d, readings: {d: room}, stack: [ring]}
    rear play: {window: 0.1 to 0.4, space: e, readings: {e: room}, stack: [washer]}
shelf: {}
job: {gaps: {front play: {readings: {d: 1.8}}, rear play: {readings: {e: 1.3}}}}
"""
MOST_PURCHASES = 300  # more are not tried out


def ways_of(job: Unfit, tells: tuple[int, ...] = ()) -> tuple[WayOut, ...]:
    return every_way(job.answer, tells or (0,) * len(job.instance.gaps))


def every_way(answer: NoFit, tells: tuple[int, ...]) -> tuple[WayOut, ...]:
    reason = reason_of(answer.instance, answer.alone, Clock(Limits()))
    return ways_out(answer, reason, tells, Clock(Limits()))


def misses(instance: Instance, build: Build) -> tuple[int, ...]:
    return tuple(judge.miss_of(instance, build, index) for index in range(len(build)))


def eased(instance: Instance, way: WayOut, tells: tuple[int, ...]) -> Instance:
    """The instance that a way out leaves, worked out from what it says."""
    kept = [condition for condition in conditions_of(instance) if condition not in way.given_up]
    left = stocked(only(instance, kept) if way.given_up else instance, dict(way.buys))
    wider = (
        _wider(gap, tells[index] if index in way.gaps else 0) for index, gap in enumerate(left.gaps)
    )
    return replace(left, gaps=tuple(wider))


def _wider(gap: GridGap, by: int) -> GridGap:
    layouts = (
        replace(
            layout,
            low=None if layout.low is None else layout.low - by,
            high=None if layout.high is None else layout.high + by,
        )
        for layout in gap.layouts
    )
    return replace(gap, layouts=tuple(layouts))


def test_every_way_out_works() -> None:
    met: Counter[str] = Counter()
    for job in unfits(SEEDS, ASKING):
        build = job.answer.together
        tells = misses(job.instance, build) if build else (0,) * len(job.instance.gaps)
        for way in ways_of(job, tells):
            left = eased(job.instance, way, tells)
            assert can_hold(left), job.seed
            assert allowed(left, way.fit.build), job.seed
            assert judge.faults(left, way.fit.build) == [], job.seed
            assert judge.gap_of(left, way.fit.build, 0) == way.fit.gaps[0], job.seed
            assert names(left, way.fit.build) == names(way.fit.instance, way.fit.build), job.seed
            met[way.kind] += 1
    assert met["buy"] >= share(101), met
    assert met["release"] >= share(31), met
    assert met["layout"] >= share(11), met
    assert met["read again"] >= share(101), met


def names(instance: Instance, build: Build) -> list[str]:
    return [gap.layouts[at.layout].name for gap, at in zip(instance.gaps, build, strict=True)]


def test_what_guards_someone_is_never_offered() -> None:
    guards: Counter[str] = Counter()
    for job in unfits(few(range(100, 600), 100), few(range(20_000, 20_400))):
        ways = ways_of(job)
        for condition in conditions_of(job.instance):
            if _may_go(job.instance, condition):
                continue
            assert not any(condition in way.given_up for way in ways), job.seed
            rest = [other for other in conditions_of(job.instance) if other != condition]
            if condition.kind in ("rule", "layout") and can_hold(only(job.instance, rest)):
                guards[condition.kind] += 1  # it would have helped, and is not offered
        for way in ways:
            assert all(_may_go(job.instance, condition) for condition in way.given_up), job.seed
            assert all(job.instance.choices[choice].sold for choice, _ in way.buys), job.seed
    assert guards["rule"] >= share(9), guards
    assert guards["layout"] >= share(16), guards


def _may_go(instance: Instance, condition: Condition) -> bool:
    if condition.kind == "rule":
        return instance.rules[condition.rule].preference
    if condition.kind == "layout":
        barred = instance.gaps[condition.gap].barred
        return not any(one.why for one in barred if one.layout.name == condition.name)
    return condition.kind == "kept"


def test_no_way_contains_another_and_each_kind_comes_once_before_any_comes_again() -> None:
    several = 0
    for job in unfits(SEEDS, ASKING):
        ways = ways_of(job, (10**9,) * len(job.instance.gaps))
        for one, other in combinations(map(_told, ways), 2):
            assert one - other, job.seed
            assert other - one, job.seed
        kinds = [way.kind for way in ways]
        first = list(dict.fromkeys(kinds))
        assert kinds[: len(first)] == first, job.seed
        assert all(n <= (5 if kind == "buy" else 2) for kind, n in Counter(kinds).items())
        several += len(first) < len(kinds)
    assert several >= share(13)


def test_ways_stand_in_the_order_of_the_aims_then_changes_then_price() -> None:
    met: Counter[str] = Counter()
    for job in unfits(ORDERED, ASKING):
        build = job.answer.together
        tells = misses(job.instance, build) if build else (0,) * len(job.instance.gaps)
        ways = ways_of(job, tells)
        ranks = [_rank(job.instance, way) for way in ways]
        kinds = [way.kind for way in ways]
        first = len(set(kinds))
        assert ranks[:first] == sorted(ranks[:first]), job.seed
        assert ranks[first:] == sorted(ranks[first:]), job.seed
        for kind in set(kinds):
            mine = [rank for rank, way in zip(ranks, ways, strict=True) if way.kind == kind]
            assert mine == sorted(mine), job.seed
        met["kinds out of their old order"] += kinds[:first] != sorted(kinds[:first], key=KINDS)
        aims = {str(rank[0]) for rank in ranks}
        met["parted by the aims"] += len(aims) > 1
    assert met["kinds out of their old order"] >= share(8), met
    assert met["parted by the aims"] >= share(51), met


KINDS = ["buy", "release", "layout", "read again"].index


def _rank(instance: Instance, way: WayOut) -> tuple[object, ...]:
    """What a way is sorted by, worked out anew: aims that are not ties, changes, and price."""
    left = instance if way.kind == "read again" else eased(instance, way, ())
    aims = list(instance.aims)
    while aims and aims[-1] in ("change", "aim", "spare"):
        del aims[-1]
    of_aims = [measured(replace(left, aims=(aim,)), way.fit.build) for aim in aims]
    changes = measured(replace(left, aims=("change",)), way.fit.build)
    return of_aims, changes, way.cost is None and bool(way.buys), way.cost or 0


def _told(way: WayOut) -> Counter[object]:
    """What a way asks for, part by part."""
    parts: Counter[object] = Counter(dict(way.buys))
    parts.update(way.given_up)
    parts.update(("read", gap) for gap in way.gaps)
    return parts


def test_what_helps_when_given_up_is_offered_and_nothing_that_does_not() -> None:
    met: Counter[str] = Counter()
    for job in unfits(SEEDS, ASKING):
        ways = ways_of(job)
        for kind, kinds in (("release", ("kept", "rule")), ("layout", ("layout",))):
            conditions = conditions_of(job.instance)
            offered = [c for c in conditions if c.kind in kinds and _may_go(job.instance, c)]
            found = [way.given_up for way in ways if way.kind == kind]
            single = [(c,) for c in offered if _holds_without(job.instance, [c])]
            if single:
                assert set(found) <= set(single), job.seed
                assert len(found) == min(2, len(single)), job.seed
            elif found:
                assert _needs_all(job.instance, *found), job.seed
                met["several together"] += 1
            else:
                assert not _holds_without(job.instance, offered), job.seed
            met[kind] += bool(found)
            met[f"no {kind}"] += bool(offered) and not found
    assert min(met["release"], met["no release"], met["layout"], met["no layout"]) >= share(11), met


def _holds_without(instance: Instance, given_up: Iterable[Condition]) -> bool:
    aside = set(given_up)
    return can_hold(only(instance, [c for c in conditions_of(instance) if c not in aside]))


def _needs_all(instance: Instance, given_up: tuple[Condition, ...]) -> bool:
    fewer = ([c for c in given_up if c != one] for one in given_up)
    return _holds_without(instance, given_up) and not any(
        _holds_without(instance, f) for f in fewer
    )


def test_readings_are_to_be_taken_again_only_where_the_gauges_cannot_tell_the_miss() -> None:
    again = 0
    for job in unfits(SEEDS, ()):
        if job.answer.together is None:
            continue
        by = misses(job.instance, job.answer.together)
        one = next(index for index, miss in enumerate(by) if miss)
        enough, short = by, (*by[:one], by[one] - 1, *by[one + 1 :])
        missed = tuple(index for index, miss in enumerate(by) if miss)
        assert [w.gaps for w in ways_of(job, enough) if w.kind == "read again"] == [missed]
        assert not any(way.kind == "read again" for way in ways_of(job, short)), job.seed
        again += 1
    assert again >= share(101)


# Purchases.


class Prices:
    """A random job whose sizes have prices, some not stated, and some of which come in packs."""

    def __init__(self, job: RandomJob) -> None:
        rng = Random(job.seed)  # noqa: S311 - no secret hangs on it
        self.stated: dict[tuple[str, str], int] = {}
        self.packs: dict[tuple[str, str], int] = {}
        families = dict(job.document["unit"]["families"])
        for name, family in families.items():
            sizes = {size: dict(spec) for size, spec in family.get("sizes", {}).items()}
            for size, spec in sizes.items():
                if rng.random() < 0.75:
                    spec["price"] = text = rng.choice(PRICES)
                    self.stated[name, size] = int(Decimal(text) * UNIT)
                self.packs[name, size] = rng.choice([1, 1, 2, 3])
                if self.packs[name, size] > 1:
                    spec["sold in"] = self.packs[name, size]
            families[name] = family | ({"sizes": sizes} if sizes else {})
        unit = job.document["unit"] | {"families": families}
        self.instance = with_catalogue(replace(job, document=job.document | {"unit": unit}).case())
        known = (price * self.packs[size] for size, price in self.stated.items())
        self.unknown = max(known, default=0) + 1

    def size(self, choice: int) -> tuple[str, str]:
        part = self.instance.choices[choice]
        return part.family, part.size

    def cost(self, purchase: Mapping[int, int]) -> tuple[int, int]:
        """What packs cost, then their number; one without a price is dearer than any other."""
        each = {c: self.stated.get(self.size(c), 0) * self.packs[self.size(c)] for c in purchase}
        total = sum(number * (each[c] or self.unknown) for c, number in purchase.items())
        return total, sum(purchase.values())

    def packs_of(self, way: WayOut) -> Counter[int]:
        """A way's purchase in packs, which must be whole ones."""
        found = Counter[int]()
        for choice, count in way.buys:
            found[choice], rest = divmod(count, self.packs[self.size(choice)])
            assert not rest
        return found

    def helps(self, purchase: Mapping[int, int]) -> bool:
        more = {choice: n * self.packs[self.size(choice)] for choice, n in purchase.items()}
        return can_hold(stocked(self.instance, more))

    def most(self) -> dict[int, int]:
        """How many packs of each part for sale the places of a job could hold at the most."""
        found: dict[int, int] = {}
        for index, choice in enumerate(self.instance.choices):
            number = sum(_places_of(gap, index) for gap in self.instance.gaps)
            if choice.sold and number:
                found[index] = -(-number // self.packs[self.size(index)])
        return found

    def least(self) -> list[Counter[int]]:
        """Every purchase that brings a fit and of which no pack can be spared."""
        most = self.most()
        if not self.helps(most):
            return []
        every = product(*(range(number + 1) for number in most.values()))
        packs = (+Counter(dict(zip(most, numbers, strict=True))) for numbers in every)
        found: list[Counter[int]] = []
        for purchase in sorted(packs, key=Counter.total):
            if not any(other <= purchase for other in found) and self.helps(purchase):
                found.append(purchase)
        return found


def _places_of(gap: GridGap, choice: int) -> int:
    """How many of a choice the places of a gap could hold, whichever its layout."""
    each = ((p.most for p in at.places if choice in p.takes) for at in gap.layouts)
    return max(map(sum, each), default=0)


def test_there_is_a_purchase_for_each_part_the_reason_names_and_none_is_cheaper() -> None:
    met: Counter[str] = Counter()
    for seed in PRICED:
        job = Prices(random_job(seed))
        answer = fit(job.instance)
        number = prod(most + 1 for most in job.most().values())
        if not isinstance(answer, NoFit) or number > MOST_PURCHASES:
            continue
        reason = reason_of(job.instance, answer.alone, Clock(Limits()))
        ways = ways_out(answer, reason, (0,) * len(job.instance.gaps), Clock(Limits()))
        bought = [job.packs_of(way) for way in ways if way.buys]
        least = job.least()
        named = {c.size for c in reason.conditions if c.kind == "stock"}
        for one in least:
            assert named & {job.size(choice) for choice in one}, seed  # so no way is overlooked
        for size in named:
            mine = [one for one in least if size in map(job.size, one)]
            theirs = [one for one in bought if size in map(job.size, one)]
            assert bool(mine) == bool(theirs) or len(bought) == 5, (seed, size)
            alone = [one for one in mine if len(one) == 1]
            assert all(one in bought for one in alone) or len(bought) == 5, (seed, size)
        ranks = [_rank(job.instance, way) for way in ways if way.buys]
        assert ranks == sorted(ranks), seed
        for way, one in zip([way for way in ways if way.buys], bought, strict=True):
            assert one in least, seed
            cheapest = [
                min(job.cost(other) for other in least if size in map(job.size, other))
                for size in named & set(map(job.size, one))
            ]
            assert len(one) == 1 or job.cost(one) in cheapest, seed
            known = all(job.size(choice) in job.stated for choice in one)
            assert way.cost == (job.cost(one)[0] if known else None), seed
            met["no price"] += not known
            met["several parts"] += len(one) > 1
            met["packs"] += any(job.packs[job.size(choice)] > 1 for choice in one)
        met[f"{min(len(bought), 3)} ways"] += 1
    assert met["0 ways"] >= share(201), met
    assert min(met["1 ways"], met["packs"]) >= share(51), met
    assert min(met["2 ways"], met["no price"]) >= share(11), met


def test_a_part_that_helps_only_with_another_is_bought_with_the_cheapest_other() -> None:
    """The reason is of one play: each of its rings comes with the cheaper washer of the other.

    No aim but `aim` tells the two builds apart, so the price does.
    """
    answer = fit(with_catalogue(case_from(TOGETHER)))
    assert isinstance(answer, NoFit)
    sizes = [
        {answer.instance.choices[choice].size: count for choice, count in way.buys}
        for way in every_way(answer, (0, 0))
    ]
    assert sizes == [{"b": 1, "w": 1}, {"a": 1, "w": 1}]


def test_a_part_without_a_price_is_not_bought_where_one_with_a_price_will_do() -> None:
    case = case_from(UNPRICED)
    answer = fit(with_catalogue(case))
    assert isinstance(answer, NoFit)
    ways = every_way(answer, (0,))
    sizes = [[answer.instance.choices[choice].size for choice, _ in way.buys] for way in ways]
    assert (sizes, [way.cost for way in ways]) == ([["priced"], ["bare"]], [3 * UNIT, None])
