"""Drums held out: a seeded third, every drum as likely, and none in both halves."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

from gapwright.stock.kit.service import HeldOut, kit_case
from gapwright.stock.past_drums import parted
from specs.files.history import History
from specs.values.lengths import Length
from tests.oracles.brute_stock import KitJob

PAST = History("past.csv", ("low",), Counter({(Length(n),): n for n in range(1, 9)}))


def test_a_third_is_held_out_and_the_rest_is_chosen_by() -> None:
    kept, out = parted(PAST, 1)
    assert kept.rows + out.rows == PAST.rows
    assert out.rows.total() == PAST.rows.total() // 3
    assert parted(PAST, 1) == (kept, out)
    assert any(parted(PAST, seed)[1] != out for seed in range(2, 6))


def test_every_drum_is_as_likely_to_be_held_out() -> None:
    total: Counter[tuple[object, ...]] = Counter()
    for seed in range(600):
        total.update(parted(PAST, seed)[1].rows)
    for row, number in PAST.rows.items():
        assert abs(total[row] / (600 * number) - 1 / 3) < 0.06


def test_what_is_held_out_has_no_part_in_the_choice() -> None:
    """Other drums held out leave the kit as it is."""
    only_to_limit = 0
    for seed in range(8):
        job = KitJob(seed)
        plain = kit_case(job.case(), job.history, Fraction(6, 10))
        other = KitJob(seed + 100).history
        if other.columns == job.history.columns:
            tried = kit_case(job.case(), job.history, Fraction(6, 10), None, other)
            assert (plain.kit, plain.frontier) == (tried.kit, tried.frontier)
            same = kit_case(job.case(), job.history, Fraction(6, 10), None, job.history)
            if same.kit:
                close = same.only_to_limit(same.kit)
                assert same.held_out == HeldOut(same.kit.served, close, same.drums)
                only_to_limit += close
                assert tried == replace(plain, held_out=tried.held_out, choices=tried.choices)
    assert only_to_limit
