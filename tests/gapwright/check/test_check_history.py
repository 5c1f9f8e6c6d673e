"""A history of checks: how far each gauge and hand is off, against scipy and against the truth."""

from __future__ import annotations

import json
from collections import Counter
from random import Random
from typing import TYPE_CHECKING

import numpy as np
import pytest
from click.testing import CliRunner
from scipy import stats

from gapwright.check.chart import history_chart
from gapwright.check.history import Residual, look_back, parted, seen_of
from gapwright.cli.check import check
from gapwright.output.rendering import render
from specs.errors import InputError
from specs.uncertainty.confidence import chi_square, mean_limits, spread_limits, student
from specs.values.lengths import Length
from tests.gapwright.charts import axes_of

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.check.history import CheckHistory

UNIT = """\
length: mm
unit:
  gauges: {feeler: {tells: 0.02}, blade: {tells: 0.02}}
  families:
    disc: {kind: friction, fixed: 2.0}
    steel: {kind: steel, tolerance: 0, sizes: [1.8, 2.2]}
  packs:
    low:
      window: 0.4 to 0.8
      spreads by: 0
      readings: {gap: {what: the gap, gauge: blade}}
      stack: [disc, steel, disc]
shelf: {steel: {1.8: 1, 2.2: 1}}
"""
# Promised with the 2.2 of the trial build in: 0.60.
JOB = """\
length: mm
unit: unit.yaml
shelf: unit.yaml
job:
  name: NAME
  hand: HAND
  gaps:
    low: {trial: [2.2], gap: 0.60, as built: {at: AT, gauge: GAUGE, parts: [2.2]}}
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    return tmp_path


def write(shop: Path, name: str, at: str, gauge: str = "feeler", hand: str = "JM") -> Path:
    text = JOB.replace("NAME", name).replace("AT", at)
    file = shop / f"{name}.yaml"
    file.write_text(text.replace("GAUGE", gauge).replace("HAND", hand), encoding="utf-8")
    return file


def week(shop: Path) -> list[Path]:
    """A feeler that measures 0.03 more, a blade that does not, and one plate too many."""
    feeler = [("0.63", "JM"), ("0.62", "JM"), ("0.64", "AB"), ("0.63", "AB"), ("0.63", "JM")]
    blade = [("0.60", "JM"), ("0.61", "AB"), ("0.59", "AB"), ("0.60", "JM")]
    files = [write(shop, f"F{nth}", at, "feeler", who) for nth, (at, who) in enumerate(feeler)]
    files += [write(shop, f"B{nth}", at, "blade", who) for nth, (at, who) in enumerate(blade)]
    return [*files, write(shop, "X1", "1.00", "blade")]


def looked(shop: Path) -> CheckHistory:
    return look_back(week(shop))


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 7, 12, 31, 100, 999, 5000])
def test_the_curves_are_those_of_scipy(freedom: int) -> None:
    for level in (0.5, 0.9, 0.95, 0.999):
        wanted = stats.t.ppf((1 + level) / 2, freedom)
        assert student(freedom, level) == pytest.approx(wanted, rel=1e-9)
    for share in (0.001, 0.025, 0.5, 0.975, 0.999):
        wanted = stats.chi2.ppf(share, freedom)
        assert chi_square(share, freedom) == pytest.approx(wanted, rel=1e-7)


def test_limits_are_those_scipy_gives_any_values() -> None:
    draw = np.random.default_rng(3)
    for _ in range(60):
        values = draw.normal(draw.uniform(-9, 9), draw.uniform(0.1, 5), int(draw.integers(2, 40)))
        told = mean_limits(float(values.mean()), float(values.std(ddof=1)), len(values))
        wanted = stats.ttest_1samp(values, 0).confidence_interval(0.95)
        assert (told.low, told.high) == pytest.approx((wanted.low, wanted.high))
        spread = spread_limits(float(values.std(ddof=1)), len(values))
        freedom = len(values) - 1
        ends = stats.chi2.ppf((0.975, 0.025), freedom)
        assert (spread.low, spread.high) == pytest.approx(
            tuple(values.std(ddof=1) * np.sqrt(freedom / ends))
        )


def test_bias_and_spread_lie_between_their_limits_as_often_as_is_said() -> None:
    """2,000 histories of a known gauge: 95 in 100, within four standard errors."""
    draw, met, histories = np.random.default_rng(11), Counter[str](), 2_000
    for _ in range(histories):
        count = int(draw.integers(2, 15))
        more = draw.normal(4_000, 9_000, count)
        (seen,) = seen_of([
            Residual("j", "g", "feeler", "(not named)", Length(round(x)), Length(9_000), Length(1))
            for x in map(float, more)
        ])  # fmt: skip
        assert seen.bias is not None
        assert seen.spread is not None
        met["bias"] += seen.bias.low.nm <= 4_000 <= seen.bias.high.nm
        met["spread"] += seen.spread.low.nm <= 9_000 <= seen.spread.high.nm
        met["as stated"] += not seen.wider and not seen.narrower
    error = (0.95 * 0.05 / histories) ** 0.5
    for what in ("bias", "spread", "as stated"):
        assert abs(met[what] / histories - 0.95) <= 4 * error, met


def test_a_mistake_is_parted_from_what_a_gauge_is_off_by() -> None:
    draw = Random(4)  # noqa: S311 - seeded, for a test
    for _ in range(100):
        bias = draw.randint(-200_000, 200_000)
        good = [bias + draw.randint(-20_000, 20_000) for _ in range(draw.randint(4, 12))]
        bad = bias + draw.choice((-1, 1)) * draw.randint(150_000, 900_000)
        residuals = [
            Residual(str(nth), "g", "feeler", "JM", Length(x), Length(12_000), Length(36_000))
            for nth, x in enumerate([*good, bad])
        ]
        draw.shuffle(residuals)
        kept, aside = parted(residuals)
        assert sorted(one.more.nm for one in kept) == sorted(good)
        assert [one.more.nm for one in aside] == [bad]


def test_a_gauge_that_is_off_is_told_from_one_that_is_not(shop: Path) -> None:
    told = render(looked(shop))
    assert told.startswith("9 gaps of 10 jobs, measured after assembly beside the promise\n")
    assert (
        "gauge blade: 4 gaps\n"
        "  no bias seen: 0.00 mm on average (-0.013 to 0.013 mm)\n"
        "  spreads by 0.008 mm (0.005 to 0.03 mm), as the u 0.016 mm that the files give it\n"
    ) in told
    assert (
        "gauge feeler: 5 gaps\n"
        "  OFF: measures 0.03 mm more than promised on average (0.021 to 0.039 mm)\n"
    ) in told
    assert "hand AB: 4 gaps\n" in told
    assert "hand JM: 5 gaps\n" in told
    assert "  X1, low: 0.40 mm more than promised\n" in told


def test_a_gauge_that_spreads_more_than_stated_is_told(shop: Path) -> None:
    at = ["0.60", "0.66", "0.54", "0.65", "0.55", "0.57", "0.64"]
    told = render(look_back([write(shop, f"F{n}", one) for n, one in enumerate(at)]))
    assert "  WIDER: spreads by 0.049 mm (0.032 to 0.109 mm), more than the u 0.016 mm" in told


def test_one_gap_alone_tells_nothing_and_an_unnamed_hand_is_no_hand(shop: Path) -> None:
    file = write(shop, "F1", "0.61")
    text = file.read_text(encoding="utf-8").replace("  hand: JM\n", "")
    file.write_text(text, encoding="utf-8")
    told = render(look_back([file]))
    assert told.startswith("1 gap of 1 job, measured after assembly beside the promise\n")
    assert "  F1, low: one gap alone tells of no bias and no spread\n" in told
    assert "hand (" not in told


def test_who_measured_one_gap_goes_before_the_hand_of_the_job(shop: Path) -> None:
    file = write(shop, "F1", "0.61")
    text = file.read_text(encoding="utf-8").replace("parts: [2.2]", "parts: [2.2], hand: AB")
    file.write_text(text, encoding="utf-8")
    assert [seen.name for seen in look_back([file]).seen] == ["feeler", "AB"]


def test_a_job_without_anything_measured_is_named_and_one_must_be(shop: Path) -> None:
    bare = write(shop, "N1", "0.61")
    text = bare.read_text(encoding="utf-8")
    bare.write_text(text[: text.index(", as built")] + "}\n", encoding="utf-8")
    with pytest.raises(InputError, match="nothing was measured after assembly in any"):
        look_back([bare])
    told = render(look_back([bare, write(shop, "F1", "0.61")]))
    assert "\nnothing measured after assembly: N1\n" in told


def test_a_gap_that_reads_nothing_is_no_reading_and_counts_for_no_gauge(shop: Path) -> None:
    files = [write(shop, f"F{nth}", at) for nth, at in enumerate(("0.61", "0.59", "0", "[0, 0.6]"))]
    history = look_back(files)
    feeler = history.seen[0]
    assert [one.job for one in feeler.residuals] == ["F0", "F1"]
    assert (history.aside, history.nothing_measured) == ((), ())
    assert "\nno reading after assembly, not counted: F2 low, F3 low\n" in render(history)
    answer = json.loads(render(history, as_json=True))
    assert answer["no reading"] == [{"job": "F2", "gap": "low"}, {"job": "F3", "gap": "low"}]
    with pytest.raises(InputError, match="reads nothing, which is no reading"):
        look_back(files[2:])


def test_json_gives_every_figure_with_its_limits(shop: Path) -> None:
    told = json.loads(render(looked(shop), as_json=True))
    assert told["shape"] == "gapwright check history 1"
    feeler = told["seen"][1]
    assert (feeler["kind"], feeler["name"], feeler["off"]) == ("gauge", "feeler", True)
    assert feeler["bias"]["figure"] == {"nm": 30_000, "shown": "0.03 mm"}
    assert feeler["bias"]["at least"]["nm"] < 30_000 < feeler["bias"]["at most"]["nm"]
    assert [one["more"]["nm"] for one in feeler["gaps"]] == [30_000, 20_000, 40_000, 30_000, 30_000]
    assert [one["job"] for one in told["left aside"]] == ["X1"]


def test_the_picture_has_a_ring_for_every_gap_and_fills_what_is_off(shop: Path) -> None:
    history = looked(shop)
    rows = axes_of(history_chart(history))
    rings = [len(row.collections[-1].get_offsets()) for row in rows]
    assert rings == [len(seen.residuals) for seen in history.seen]
    assert sum(rings) == 18
    filled = [
        row.collections[0].get_facecolor()[0][0] == 0 for row in rows if len(row.collections) > 1
    ]
    assert filled == [seen.is_off for seen in history.seen if seen.bias]
    names = [row.get_yticklabels()[0].get_text().partition("\n")[0] for row in rows]
    assert names == [f"{seen.kind} {seen.name}" for seen in history.seen]


@pytest.mark.face
def test_the_command_looks_back_at_files_and_draws(shop: Path) -> None:
    files = [str(file) for file in week(shop)]
    drawn = shop / "history.png"
    ran = CliRunner().invoke(
        check, [*files, "--history", "--picture", str(drawn)], standalone_mode=False
    )
    assert ran.return_value == 0, ran.output
    assert "OFF: measures 0.03 mm more" in ran.stdout
    assert drawn.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("more", [["F0.yaml"], ["--picture", "h.svg"]])
def test_without_history_one_job_is_checked_and_nothing_is_drawn(
    shop: Path, more: list[str]
) -> None:
    week(shop)
    arguments = [str(shop / "F1.yaml"), *more]
    with pytest.raises(InputError, match="check takes one job; with --history many"):
        CliRunner().invoke(check, arguments, standalone_mode=False, catch_exceptions=False)
