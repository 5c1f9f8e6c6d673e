"""Drums drawn from what a unit file gives, and histories put together."""

from __future__ import annotations

import json
from statistics import fmean, pstdev
from typing import TYPE_CHECKING

import pytest

from gapwright.record.former_units import former_units
from gapwright.stock.past_drums import DRAWN, past_of
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse
from tests.commands import ran

if TYPE_CHECKING:
    from pathlib import Path

    from specs.models.case import Case

THOU = 25_400
UNIT = """\
length: in
unit:
  families: {{ring: {{kind: ring, sizes: {{A: .0600, B: .0700}}}}}}
  independent: {independent}
  packs:
    low: {{window: .010 to .018, stack: [ring], spaces: {spaces}}}
    high: {{window: .010 to .018, stack: [ring]}}
"""


def case(spaces: str, independent: str = "no") -> Case:
    text = UNIT.format(spaces=spaces, independent=independent)
    return case_of(parse(text, "unit.yaml"), needs=("unit",))


@pytest.mark.parametrize(
    ("spaces", "mean", "deviation"),
    [
        ("{normal: .500, deviation: .006}", 500, 6),
        ("{uniform: .480 to .520}", 500, 40 / 12**0.5),
        # JCGM 100, 4.3.7: a rectangular doubt of half width a has the variance a^2 / 3.
        ("{sum: [1.980 to 2.020, .490 to .510], less: [1.985 to 2.015]}", 500, 15.546),
    ],
)
def test_drums_are_drawn_as_they_are_spread(spaces: str, mean: float, deviation: float) -> None:
    past = past_of(case(spaces), (), 1)
    drawn = [float(row[0].nm / THOU) for row in past.history.rows.elements() if row[0] is not None]
    assert past.drawn == ("low",)
    assert len(drawn) == DRAWN
    assert fmean(drawn) == pytest.approx(mean, abs=4 * deviation / DRAWN**0.5)
    assert pstdev(drawn) == pytest.approx(deviation, rel=0.05)
    assert all(one == round(one) for one in drawn)  # as a shop reads


def test_the_same_seed_draws_the_same() -> None:
    unit = case("{normal: .500, deviation: .006}")
    assert past_of(unit, (), 1) == past_of(unit, (), 1)
    assert past_of(unit, (), 1) != past_of(unit, (), 2)


def test_histories_are_put_together_only_where_the_unit_says_they_may(tmp_path: Path) -> None:
    (tmp_path / "high.csv").write_text("high,count\n.080,1\n.081,3\n", encoding="utf-8")
    table = former_units(tmp_path / "high.csv", case("{uniform: .48 to .52}"))
    with pytest.raises(InputError, match="come from different places; write `independent: yes`"):
        past_of(case("{uniform: .48 to .52}"), [table], 1)
    past = past_of(case("{uniform: .480 to .520}", "yes"), [table], 1)
    assert past.independent
    assert past.history.columns == ("high", "low")
    high = past.history.column("high")
    assert sorted(high.values())[1] / DRAWN == pytest.approx(3 / 4, abs=0.03)
    low = {row[1] for row in past.history.rows if row[0] == min(high)}
    assert len(low) > 35  # whatever the one is, the other is anything


@pytest.mark.parametrize(
    ("spaces", "says"),
    [
        ("{normal: .500}", "write normal and deviation together"),
        ("{normal: .500, deviation: .006, uniform: .4 to .5}", "one of normal, uniform and sum"),
        ("{less: [.4 to .5]}", "one of normal, uniform and sum"),
        ("{uniform: .5 to .4}", "uniform"),
        ("{uniform: .5 to .6, less: [.1 to .2]}", "write less with a sum alone"),
    ],
)
def test_spaces_that_make_no_sense_are_refused(spaces: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        case(spaces)


def test_a_kit_says_that_its_drums_were_drawn(tmp_path: Path) -> None:
    text = UNIT.format(spaces="{normal: .078, deviation: .004}", independent="no")
    (tmp_path / "unit.yaml").write_text(text, encoding="utf-8")
    told = ran("stock", "kit", "unit.yaml", "--share", "40", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    assert "spaces of low drawn from what the unit file gives, no drums measured" in told.stdout
    shape = json.loads(
        ran("stock", "kit", "unit.yaml", "--share", "40", "--json", cwd=tmp_path).stdout
    )
    assert (shape["drawn"], shape["independent"]) == (["low"], False)
    bare = text.replace(", spaces: {normal: .078, deviation: .004}", "")
    (tmp_path / "unit.yaml").write_text(bare, encoding="utf-8")
    told = ran("stock", "kit", "unit.yaml", cwd=tmp_path)
    assert told.returncode == 2
    assert "no --history, and no pack or end play of the unit has its `spaces`" in told.stderr
