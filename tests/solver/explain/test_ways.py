"""Every way out where nothing fits, held against another solver and a search of all purchases."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from itertools import combinations, product
from random import Random
from typing import TYPE_CHECKING

from solver import Limits, NoFit, fit
from solver.engines.limits import Clock
from solver.explain.conditions import Condition, conditions_of
from solver.explain.ways_out import WayOut, ways_out
from solver.problem import judge
from tests.amounts import few, share
from tests.oracles.jobs_by_hand import case_from
from tests.oracles.kept_conditions import can_hold, only, stocked, unfits, with_catalogue
from tests.oracles.random_jobs import random_job
from tests.oracles.values_of_builds import allowed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from solver.problem.gaps import GridGap
    from solver.problem.instance import Build, Instance
    from tests.oracles.kept_conditions import Unfit
    from tests.oracles.random_jobs import RandomJob

SEEDS = few(range(500))
ASKING = few(range(20_000, 20_400))
PRICED = few(range(30_000, 30_500), 200)
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
MOST_PURCHASES = 3_000  # more are not tried out


def ways_of(job: Unfit, tells: tuple[int, ...] = ()) -> tuple[WayOut, ...]:
    none = (0,) * len(job.instance.gaps)
    return ways_out(job.answer, tells or none, Clock(Limits()))


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
    for job in unfits(few(range(500), 250), few(range(20_000, 20_400), 200)):
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
        assert max(Counter(kinds).values(), default=0) <= 2, job.seed
        several += len(first) < len(kinds)
    assert several >= share(13)


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
                assert found == single[:2], job.seed
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
    """A random job whose sizes have prices, some of them not stated."""

    def __init__(self, job: RandomJob) -> None:
        rng = Random(job.seed)  # noqa: S311 - no secret hangs on it
        self.stated: dict[tuple[str, str], str] = {}
        families = dict(job.document["unit"]["families"])
        for name, family in families.items():
            sizes = {size: dict(spec) for size, spec in family.get("sizes", {}).items()}
            for size, spec in sizes.items():
                if rng.random() < 0.75:
                    spec["price"] = self.stated[name, size] = rng.choice(PRICES)
            families[name] = family | ({"sizes": sizes} if sizes else {})
        unit = job.document["unit"] | {"families": families}
        self.instance = with_catalogue(replace(job, document=job.document | {"unit": unit}).case())
        self.unknown = max(map(_price_of, self.stated.values()), default=0) + 1

    def cost(self, purchase: dict[int, int]) -> tuple[int, int]:
        """What a purchase costs, then its number of parts; one without a price is the dearest."""
        price = {choice: self._price(choice) for choice in purchase}
        total = sum(count * (price[c] or self.unknown) for c, count in purchase.items())
        return total, sum(purchase.values())

    def _price(self, choice: int) -> int | None:
        part = self.instance.choices[choice]
        text = self.stated.get((part.family, part.size))
        return _price_of(text) if text else None

    def told(self, way: WayOut) -> int | None:
        """The cost to be told of a way; nothing where a price of it is not stated."""
        known = all(self._price(choice) is not None for choice, _ in way.buys)
        return self.cost(dict(way.buys))[0] if known else None


def _price_of(text: str) -> int:
    return int(Decimal(text) * UNIT)


def most_of(instance: Instance) -> dict[int, int]:
    """How many of each part for sale the places of a job could hold at the most."""
    found: dict[int, int] = {}
    for index, choice in enumerate(instance.choices):
        number = sum(_places_of(gap, index) for gap in instance.gaps)
        if choice.sold and number:
            found[index] = number
    return found


def _places_of(gap: GridGap, choice: int) -> int:
    """How many of a choice the places of a gap could hold, whichever its layout."""
    each = ((p.most for p in at.places if choice in p.takes) for at in gap.layouts)
    return max(map(sum, each), default=0)


def purchases(instance: Instance) -> Iterator[dict[int, int]]:
    """Every multiset of parts for sale that the places of a job could hold."""
    most = most_of(instance)
    for counts in product(*(range(number + 1) for number in most.values())):
        yield {choice: n for choice, n in zip(most, counts, strict=True) if n}


def largest(found: list[dict[int, int]]) -> Iterator[dict[int, int]]:
    """The purchases that no other one contains: where these bring no fit, less brings none."""
    kept: list[Counter[int]] = []
    for purchase in sorted(map(Counter, found), key=Counter.total, reverse=True):
        if not any(purchase <= other for other in kept):
            kept.append(purchase)
            yield dict(purchase)


def test_no_cheaper_purchase_brings_a_fit() -> None:
    met: Counter[str] = Counter()
    for seed in PRICED:
        job = Prices(random_job(seed))
        answer = fit(job.instance)
        number = 1
        for most in most_of(job.instance).values():
            number *= most + 1
        if not isinstance(answer, NoFit) or number > MOST_PURCHASES:
            continue
        every = list(purchases(job.instance))
        ways = [way for way in ways_out(answer, (0,) * 3, Clock(Limits())) if way.buys]
        shut_out: list[Counter[int]] = []
        for way in ways:
            worth = job.cost(dict(way.buys))
            cheaper = [
                purchase
                for purchase in every
                if job.cost(purchase) < worth
                and not any(bought <= Counter(purchase) for bought in shut_out)
            ]
            for purchase in largest(cheaper):
                assert not can_hold(stocked(job.instance, purchase)), (seed, purchase)
                met["cheaper ones tried"] += 1
            assert way.cost == job.told(way), seed
            shut_out.append(Counter(dict(way.buys)))
            met["no price"] += way.cost is None
            met["several parts"] += worth[1] > 1
        if len(ways) < 2:
            rest = [p for p in every if not any(b <= Counter(p) for b in shut_out)]
            for purchase in largest(rest):
                assert not can_hold(stocked(job.instance, purchase)), (seed, purchase)
        met[f"{len(ways)} ways"] += 1
    assert met["cheaper ones tried"] >= share(121), met
    assert met["1 ways"] >= share(26), met
    assert min(met["2 ways"], met["no price"], met["several parts"]) >= share(9), met
    assert met["0 ways"] >= share(81), met


def test_a_part_without_a_price_is_not_bought_where_one_with_a_price_will_do() -> None:
    case = case_from(UNPRICED)
    answer = fit(with_catalogue(case))
    assert isinstance(answer, NoFit)
    ways = ways_out(answer, (0,), Clock(Limits()))
    sizes = [[answer.instance.choices[choice].size for choice, _ in way.buys] for way in ways]
    assert (sizes, [way.cost for way in ways]) == ([["priced"], ["bare"]], [3 * UNIT, None])
