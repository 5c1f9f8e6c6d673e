"""The drawings are to the scale they state, and the gap lies where it is read."""

from __future__ import annotations

import random
import re
from collections import Counter
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest

from gapwright.drawing.stack import draw_stack, end_words, gap_at, scale_for, spread
from gapwright.drawing.svg import Box, hatching, words
from gapwright.drawing.window import LEFT, RIGHT, draw_window, magnified
from gapwright.fit.assembly import AssemblyStep, GapAssembly
from specs.values.lengths import Length

if TYPE_CHECKING:
    from gapwright.drawing.svg import Svg

KINDS = (
    "apply plate", "friction", "steel", "cushion", "pressure plate", "washer", "shim", "spacer",
    "ring",
)  # fmt: skip
MM = 1_000_000


def part(number: int, kind: str, nm: int, grade: str = "", family: str = "") -> AssemblyStep:
    return AssemblyStep(
        number=number, label=family or kind, family=family or kind, also_called="", kind=kind,
        grade=grade, thickness=Length(nm), facing="", out_first=(),
    )  # fmt: skip


def stack(gap: int, *lines: AssemblyStep, low: int | None = 0, high: int | None = 2 * MM,
          on: str = "gap", heat: str = "ring") -> GapAssembly:  # fmt: skip
    return GapAssembly(
        name="low", is_pack=True, layout="", gap=Length(gap),
        low=None if low is None else Length(low), high=None if high is None else Length(high),
        aim=Length(MM), on=on, first_end="piston", last_end="ring", heat_end=heat, thin=0,
        steels=0, out_first=(), steps=lines,
    )  # fmt: skip


def shapes(svg: Svg, name: str) -> list[ET.Element]:
    tree = ET.fromstring(svg)  # noqa: S314 - a picture of ours
    return [element for element in tree.iter() if element.tag.rpartition("}")[2] == name]


def edges(svg: Svg) -> list[tuple[float, float]]:
    """Upper and lower edge of every part as printed, outlines included, from the first in."""
    found = []
    for rect in shapes(svg, "rect"):
        y, high, stroke = (float(rect.get(key, "")) for key in ("y", "height", "stroke-width"))
        found.append((y - stroke / 2, y + high + stroke / 2))
    return found


def stated(scale: str) -> Fraction:
    above, below = re.match(r"heights drawn ([\d.]+) : ([\d.]+)", scale).groups()  # type: ignore[union-attr]
    return Fraction(above) / Fraction(below)


def test_random_stacks_are_drawn_to_the_scale_they_state() -> None:
    chance = random.Random(8)  # noqa: S311 - a seeded test
    roads: Counter[str] = Counter()
    for _ in range(300):
        kinds = [chance.choice(KINDS) for _ in range(chance.randint(1, 14))]
        lines = [
            part(number, kind, chance.choice([250_000, 1_753_000, 2_235_000, 4_826_000, 9_000_000]))
            for number, kind in enumerate(kinds, 1)
        ]
        gap = stack(chance.choice([-80_000, 40_000, 280_000, 1_200_000]), *lines)
        drawing = draw_stack(gap, (), "mm", chance.choice([30.0, 70.0, 170.0]))
        scale = stated(drawing.scale)
        drawn = edges(drawing.svg)
        assert len(drawn) == len(lines)
        for line, (top, low) in zip(lines, drawn, strict=True):
            assert low - top == pytest.approx(float(line.thickness.nm * scale / MM), abs=0.01)
        below = gap_at(gap, ())
        opening = max(float(gap.gap.nm * scale / MM), 0)
        for index, ((top, _), (_, low)) in enumerate(pairwise(drawn), 1):
            expected = opening if index == below else 0
            assert top - low == pytest.approx(expected, abs=0.01)
        roads["under a ring" if below < len(lines) else "on top"] += 1
        roads["none" if gap.gap.nm < 0 else "small" if gap.gap.nm < 300_000 else "plain"] += 1
        roads["enlarged" if scale > 1 else "reduced" if scale < 1 else "true"] += 1
        assert ("see it magnified" in drawing.scale) == (0 < gap.gap.nm < 300_000)
        assert ("there is no gap to draw" in drawing.scale) == (gap.gap.nm < 0)
    assert min(roads[road] for road in ("under a ring", "on top", "none", "small", "plain")) >= 25
    assert min(roads["enlarged"], roads["reduced"], roads["true"]) >= 10, roads


def test_a_drawing_keeps_to_its_room_where_any_scale_does() -> None:
    for nm in (300_000, 3_000_000, 24_000_000, 60_000_000, 90_000_000):
        for room in (25.0, 66.0, 170.0):
            drawn = float(scale_for(Length(nm), room) * nm / MM)
            assert drawn <= room
            assert drawn > room / 3 or scale_for(Length(nm), room) == 10


def test_labels_keep_their_order_and_never_touch() -> None:
    chance = random.Random(9)  # noqa: S311 - a seeded test
    moved = 0
    for _ in range(500):
        count = chance.randint(1, 12)
        first, last = 60.0, 10.0
        wanted = sorted((chance.uniform(last, first) for _ in range(count)), reverse=True)
        placed = spread(wanted, 3.2, first, last)
        assert all(low - high > 3.2 - 1e-9 for low, high in pairwise(placed))
        assert all(last - 1e-9 <= at <= first + 1e-9 for at in placed)
        moved += placed != wanted
    assert 300 < moved < 500


def test_labels_with_room_stand_beside_their_parts() -> None:
    assert spread([50.0, 40.0, 30.0], 3.2, 60.0, 10.0) == [50.0, 40.0, 30.0]


PACK = (
    part(1, "apply plate", MM), part(2, "friction", MM), part(3, "pressure plate", MM),
    part(4, "ring", MM),
)  # fmt: skip


@pytest.mark.parametrize(
    ("between", "below"),
    [
        ((), 3),
        (("pressure plate", "ring"), 3),
        (("ring", "pressure plate"), 3),
        (("piston", "apply plate"), 0),
        (("friction", "pressure plate"), 2),
        (("ring", "friction"), 3),
        (("pressure plate",), 3),
    ],
)
def test_the_gap_lies_between_the_parts_it_is_read_between(
    between: tuple[str, ...], below: int
) -> None:
    assert gap_at(stack(MM, *PACK), between) == below


def test_the_gap_at_the_last_end_lies_on_top() -> None:
    assert gap_at(stack(MM, *PACK[:3]), ()) == 3
    assert gap_at(stack(MM, *PACK[:3]), ("pressure plate", "ring")) == 3


def test_two_frictions_together_do_not_move_the_gap_between_them() -> None:
    lines = (part(1, "friction", MM), part(2, "friction", MM), part(3, "ring", MM))
    assert gap_at(stack(MM, *lines), ("friction", "ring")) == 2


def test_both_ends_are_named_and_the_heat_end_with_its_side() -> None:
    assert end_words(stack(MM, *PACK)) == (
        ["ring end", "heat end (ring side)"],
        ["piston end, goes in first"],
    )
    assert end_words(stack(MM, *PACK, heat="piston")) == (
        ["ring end"],
        ["piston end, goes in first", "heat end (piston side)"],
    )
    assert end_words(stack(MM, *PACK, heat="")) == (["ring end"], ["piston end, goes in first"])
    said = [text.text for text in shapes(draw_stack(stack(MM, *PACK), (), "mm", 60).svg, "text")]
    assert said[:3] == ["ring end", "heat end (ring side)", "piston end, goes in first"]


def test_parts_are_numbered_as_in_the_list_and_the_gap_is_named_among_them() -> None:
    lines = (part(1, "steel", MM, "thin"), part(2, "steel", 2 * MM, "thick"), part(3, "ring", MM))
    said = [text.text for text in shapes(draw_stack(stack(MM, *lines), (), "mm", 60).svg, "text")]
    assert said[-4:] == ["1 steel thin", "2 steel thick", "clearance 1.00 mm", "3 ring"]


def test_thin_and_thick_differ_by_hatching_weight_and_word() -> None:
    thin, thick = (
        draw_stack(stack(MM, part(1, "steel", 2 * MM, grade)), (), "mm", 60).svg
        for grade in ("thin", "thick")
    )
    (light,), (heavy,) = shapes(thin, "path"), shapes(thick, "path")
    assert float(heavy.get("stroke-width", "")) > 2 * float(light.get("stroke-width", ""))
    assert heavy.get("d", "").count("M") > 2 * light.get("d", "").count("M")
    outlines = [float(shapes(svg, "rect")[0].get("stroke-width", "")) for svg in (thin, thick)]
    assert outlines[1] > outlines[0]


def test_every_kind_has_marks_of_its_own() -> None:
    drawn = {
        kind: re.sub(
            r"<text.*?</text>", "", draw_stack(stack(MM, part(1, kind, MM)), (), "mm", 60).svg
        )
        for kind in KINDS
    }
    told_apart = {
        drawn[kind] for kind in ("friction", "steel", "cushion", "ring", "washer", "apply plate")
    }
    assert len(told_apart) == 6


def test_a_window_on_the_height_has_no_gap_to_draw() -> None:
    drawing = draw_stack(stack(30 * MM, *PACK, on="height"), (), "mm", 60)
    assert drawing.scale.endswith("there is no gap to draw")
    assert all(
        top == pytest.approx(low, abs=0.01) for (top, _), (_, low) in pairwise(edges(drawing.svg))
    )


def test_hatching_stays_within_its_box() -> None:
    chance = random.Random(10)  # noqa: S311 - a seeded test
    for _ in range(200):
        box = Box(1.0, chance.uniform(0, 50), chance.uniform(1, 30), chance.uniform(0.05, 20))
        for rising in (True, False):
            drawn = hatching(box, 0.9, 0.3, rising=rising)
            for x, y in re.findall(r"[ML](-?[\d.]+),(-?[\d.]+)", drawn):
                assert box.x - 0.01 <= float(x) <= box.x + box.wide + 0.01
                assert box.y - 0.01 <= float(y) <= box.y + box.high + 0.01


def test_words_are_escaped_and_set_narrower_where_they_are_too_wide() -> None:
    assert "&lt;b&gt; &amp;" in words((0, 0), "<b> &")
    assert "textLength='10'" in words((0, 0), "a very long name of an end", most=10)
    assert "textLength" not in words((0, 0), "short", most=10)


def pointer(svg: Svg) -> float:
    return float(shapes(svg, "polygon")[-1].get("points", "").split(",")[0])


@pytest.mark.parametrize("share", [0, 1, 3, 5, 10])
def test_the_pointer_stands_where_the_gap_lies_in_its_window(share: int) -> None:
    gap = stack(MM + share * 50_000, *PACK, low=MM, high=MM + 500_000)
    assert pointer(draw_window(gap, "mm", "in")) == pytest.approx(
        LEFT + (RIGHT - LEFT) * share / 10, abs=0.01
    )
    assert magnified(gap) == "magnified 84 : 1"


def test_an_open_window_ends_in_an_arrow() -> None:
    for low, high in ((MM // 2, None), (None, 2 * MM)):
        svg = draw_window(stack(MM, *PACK, low=low, high=high), "mm", "in")
        assert len(shapes(svg, "polygon")) == 2
        assert LEFT < pointer(svg) < RIGHT


def test_a_window_of_no_width_is_drawn_all_the_same() -> None:
    svg = draw_window(stack(MM, *PACK, low=MM, high=MM), "mm", "in")
    assert pointer(svg) == pytest.approx((LEFT + RIGHT) / 2)


def test_limits_aim_and_gap_stand_in_figures_in_both_units() -> None:
    svg = draw_window(stack(MM, *PACK, low=500_000, high=1_600_000), "mm", "in")
    said = [text.text for text in shapes(svg, "text")]
    assert said == [
        "tight", "loose", "0.50", "0.0197", "1.60", "0.063", "aim 1.00", "0.0394", "1.00 mm",
    ]  # fmt: skip


def test_a_height_is_drawn_from_low_to_high() -> None:
    svg = draw_window(stack(MM, *PACK, on="height"), "mm", "in")
    assert [text.text for text in shapes(svg, "text")][:2] == ["low", "high"]
