"""What a person reads: every sentence the answer can begin with, and the list below it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gapwright.fit.text import CAUTION
from gapwright.output.rendering import render
from solver import Fit, Limits

if TYPE_CHECKING:
    from tests.gapwright.conftest import Solve


@pytest.mark.face
def test_a_fit_lists_the_parts_with_the_first_in_at_the_bottom(solve: Solve, drum: str) -> None:
    told = render(solve(drum))
    assert told.startswith("J-7, Harrow 4: FITS, proved best")
    assert "low drum: clearance 0.068 in   window 0.060 to 0.080, aim 0.070" in told
    rows = [line.split()[0] for line in told.splitlines() if line[:5].strip().isdigit()]
    assert rows == [str(number) for number in range(10, 0, -1)]
    assert "    3  =====             drum steel (separator) thin   0.069 in  bin B3" in told
    assert told.index("-- ring end -- heat end") < told.index("-- piston end --, goes in first")


def test_a_pack_loaded_from_the_other_end_is_listed_the_other_way_round(
    solve: Solve, drum: str
) -> None:
    told = render(
        solve(drum.replace("ends: [piston, ring]", "ends: [piston, ring]\n      first in: ring"))
    )
    assert "    1  >" in told
    assert told.index("-- piston end --") < told.index("-- ring end -- heat end, goes in first")


def test_the_cautions_close_every_answer(solve: Solve, drum: str) -> None:
    for gap in (".041", ".001"):
        assert render(solve(drum.replace("gap: .041", f"gap: {gap}"))).endswith(CAUTION)


def test_what_to_take_counts_each_size_by_bin(solve: Solve, drum: str) -> None:
    told = render(solve(drum))
    assert "  the drum  2 x drum steel (separator) thick" in told
    assert "  bin C1    1 x drum ring .0700" in told
    assert "thin steels: 1 of 3; no fewer is possible" in told


def test_no_fit_says_how_near_it_comes_and_on_which_side(solve: Solve, drum: str) -> None:
    told = render(solve(drum.replace("gap: .041", "gap: .001")))
    assert "J-7, Harrow 4: NO FIT, proved" in told
    assert "low drum: nearest 0.057 in, 0.003 in too tight (window 0.060 to 0.080)" in told


def test_too_few_parts_are_named_as_such(solve: Solve, drum: str) -> None:
    short = drum.replace("thick: {count: 5, bin: B2}", "thick: 0").replace(
        "{count: 2, bin: B3}", "1"
    )
    short = short.replace(
        "trial: [thick, thick, thick, .0780], gap: .041", "trial: none, gap: .383"
    )
    assert "low drum: too few parts on hand to fill its places" in render(solve(short))


def test_a_build_that_is_as_good_as_any_is_left_as_it_is(solve: Solve, drum: str) -> None:
    told = render(solve(drum.replace("gap: .041", "now: trial, gap: .070")))
    assert "LEAVE IT AS IT IS, proved best" in told
    assert told.count("  stays") == 4


def test_a_place_outside_the_window_asks_to_read_again_first(solve: Solve, drum: str) -> None:
    tilted = drum.replace("gap: .041", "gap: [.062, .055, .072]")
    told = render(solve(tilted))
    assert "READ AGAIN FIRST: at place 2 of `gap` (0.055 in) low drum would be" in told
    assert "Reseat piston, plates and ring and read again before any part is changed." in told
    assert "READ AGAIN" not in render(solve(drum.replace("gap: .041", "gap: [.062, .064, .066]")))


def test_builds_as_good_are_named(solve: Solve, drum: str) -> None:
    two = drum.replace("drum plate: {kind: pressure plate, fixed: .1900}",
                       "drum plate: {kind: pressure plate, sizes: [.1900, .2000]}")  # fmt: skip
    two = two.replace("shelf:", "shelf:\n  drum plate: {.1900: 1, .2000: 1}")
    two = two.replace("[thick, thick, thick, .0780]", "[thick, thick, thick, .1900, .0780]")
    told = render(solve(two))
    assert (
        "as good for low drum: drum steel (separator) thin, 2 x drum steel (separator) thick"
        in told
    )


def test_lengths_are_printed_in_the_unit_asked_for(solve: Solve, drum: str) -> None:
    assert "clearance 1.727 mm   window 1.524 to 2.032" in render(solve(drum), "mm")
    assert "clearance 68 thou" in render(solve(drum), "thou")


def test_a_printed_gap_never_crosses_its_limit(solve: Solve, drum: str) -> None:
    exact = drum.replace("window: .060 to .080", "window: .06004 to .080").replace(
        "gap: .041", "gap: [.041, .041, .04113]"
    )
    answer = solve(exact)
    assert isinstance(answer.answer, Fit)
    assert answer.gaps[0].low is not None
    told = render(answer, "thou")
    shown = told.split("clearance ")[1].split(" thou")[0]
    assert answer.gaps[0].gap > answer.gaps[0].low
    assert float(shown) > 60.04


PLAY = """
  end plays:
    front play:
      window: .010 to .020
      space: depth
      readings: {depth: pump depth}
      stack: [thrust]
    rear play:
      window: .010 to .020
      space: height
      readings: {height: hub height}
      stack: [thrust]
  shared parts: {thrust: {family: hub washer}}
"""


@pytest.fixture
def plays(drum: str) -> str:
    text = drum.replace("  packs:", "    hub washer: {kind: washer, sizes: [.050, .060]}\n  packs:")
    text = text.replace(
        "shelf:\n", f"{PLAY.lstrip(chr(10))}shelf:\n  hub washer: {{.050: 1, .060: 1}}\n"
    )
    return text.replace("  gaps:\n", "  gaps:\n    rear play: {readings: {height: .0650}}\n")


def test_a_waiting_gap_is_listed_and_its_shared_part_is_named(solve: Solve, plays: str) -> None:
    told = render(solve(plays))
    assert "waiting: front play, for depth" in told
    assert "  depth: pump depth" in told
    assert "it shares the thrust with rear play: read it before that part goes in" in told


def test_a_shared_part_is_fetched_once_whatever_each_gap_calls_its_place(
    solve: Solve, plays: str
) -> None:
    both = plays.replace(
        "height: .0650}}", "height: .0650}}\n    front play: {readings: {depth: .0640}}"
    )
    named = both.replace("[thrust]", "[{part: thrust, name: rear washer}]", 1)
    assert named != both
    for text in (both, named):
        assert render(solve(text)).count("1 x hub washer .050") == 1


def test_gaps_that_fight_over_a_part_can_each_be_had_alone(solve: Solve, plays: str) -> None:
    both = plays.replace(
        "height: .0650}}", "height: .0650}}\n    front play: {readings: {depth: .0750}}"
    )
    told = render(solve(both))
    assert "rear play: can be had alone" in told
    assert "Each gap can be had alone, but not together" in told


def test_a_pack_without_a_selective_part_is_checked_not_solved(solve: Solve, drum: str) -> None:
    fixed = drum.replace("sizes: {thick: .0880, thin: .0690}", "fixed: .0880")
    fixed = fixed.replace("sizes: [.0600, .0700, .0780]", "fixed: .0780")
    fixed = fixed.replace("trial: [thick, thick, thick, .0780], ", "")
    fixed = fixed[: fixed.index("shelf:")] + "shelf: {}\n" + fixed[fixed.index("job:") :]
    told = render(solve(fixed.replace("gap: .041", "gap: .065")))
    assert "FITS" in told
    assert "Checked only: this stack has no part to choose." in told
    told = render(solve(fixed))
    assert "NO FIT" in told
    assert "Measure one steel and one friction first." in told


def test_time_that_ran_out_is_never_told_as_no_fit(solve: Solve, drum: str) -> None:
    told = render(solve(drum, Limits(seconds=0.0)))
    assert "NO FIT" not in told
    assert "UNDECIDED, stopped early" in told or "proved best" in told


def test_no_fit_says_why_and_what_to_buy(solve: Solve, drum: str) -> None:
    told = render(solve(drum.replace("gap: .041", "gap: .001")))
    assert "why: these cannot hold together (any one less and the rest could)" in told
    assert "  - low drum: lowest clearance 0.060 in" in told
    assert "  - 2 drum steel thin on hand" in told
    assert "  1  buy 1 x drum steel thin\n       then: low drum 0.066 in" in told


def test_a_kept_part_is_offered_for_giving_up(solve: Solve, drum: str) -> None:
    kept = drum.replace("thin: {count: 2, bin: B3}", "thin: 3")
    told = render(solve(kept.replace("gap: .041", "gap: .001, keep: {drum ring: .0780}")))
    assert "  - low drum: you keep the drum ring, .0780" in told
    assert "give up: low drum: you keep the drum ring, .0780" in told


def test_what_guards_someone_is_a_reason_and_never_a_way_out(solve: Solve, drum: str) -> None:
    guarded = drum.replace(
        "shelf:", "  rules: [{count: drum steel/thin, at most: 0, because: it burns}]\nshelf:"
    )
    told = render(solve(guarded))
    assert "  - rule: at most 0 of drum steel/thin (it burns)" in told
    assert "give up" not in told


def test_a_miss_the_gauge_cannot_tell_asks_to_read_again(solve: Solve, drum: str) -> None:
    razor = drum.replace(".0600, .0700, .0780", ".0780").replace(
        "{.0600: 1, .0700: {count: 1, bin: C1}, .0780: 2}", "{.0780: 2}"
    )
    told = render(solve(razor.replace("gap: .041", "gap: .0216")))
    assert "read low drum again: the miss is less than the gauge can tell" in told


def test_a_space_no_size_could_serve_is_doubted_never_corrected(solve: Solve, drum: str) -> None:
    told = render(solve(drum.replace("gap: .041", "gap: 1.05")))
    assert "low drum: no size the unit is made in could serve this space" in told
    assert "  - `gap` read in millimetres: `gap` would then be 0.0413 in" in told
    assert "NO FIT" in told


def test_a_job_beyond_any_part_says_so(solve: Solve, drum: str) -> None:
    told = render(solve(drum.replace("gap: .041", "gap: .300")))
    assert "No part of the unit's sizes, and nothing that may be given up, makes it fit." in told


SHIMS = """
length: mm
unit:
  families: {shim: {kind: shim, sizes: [0.20, 0.30, 0.50]}}
  end plays:
    rear play:
      window: 0.10 to 0.40
      space: d
      readings: {d: how deep}
      stack: [{part: shim, how many: 0 to 3}]
shelf: {shim: {0.20: 3, 0.30: 3, 0.50: 3}}
job:
  gaps:
    rear play: {readings: {d: 0.80}, now: [[0.20, 0.30]], keep: {shim: now}}
"""


def test_shims_that_are_kept_stay_all_of_them(solve: Solve) -> None:
    assert [line.size for line in solve(SHIMS).gaps[0].steps] == ["0.20", "0.30"]
    free = solve(
        SHIMS.replace(", keep: {shim: now}", "").replace("now: [[0.20, 0.30]]", "trial: none")
    )
    assert [line.size for line in free.gaps[0].steps] == ["0.50"]


GRADES = """\
length: mm
unit:
  families:
    disc: {kind: friction, fixed: 2.00}
    steel: {kind: steel, sizes: {heavy: 2.60, plain: 2.30, light: 2.00}}
    plate: {kind: pressure plate, fixed: 5.00}
  packs:
    fore: {works: FORE, window: WINDOW, stack: [{repeat: 2, of: [disc, steel]}, disc, plate]}
    aft: {works: AFT, window: WINDOW, stack: [{repeat: 2, of: [disc, steel]}, disc, plate]}
shelf: {steel: {heavy: 4, plain: 4, light: LIGHT}}
job: {gaps: {fore: {trial: [heavy, heavy], gap: IN}, aft: {trial: [heavy, heavy], gap: BACK}}}
"""


@pytest.mark.parametrize(
    ("works", "window", "light", "gaps", "words"),
    [
        pytest.param(
            ("shifts", "shifts"), "0.95 to 1.05", 4, ("0.40", "1.00"),
            "2 of 4: none of the thinnest grade; 2 of the second thinnest grade, "
            "no fewer with none of the thinnest grade",
            id="none of the thinnest",
        ),
        pytest.param(
            ("shifts", "shifts"), "0.95 to 1.05", 4, ("0.10", "1.00"),
            "2 of 4: 1 of the thinnest grade, no fewer is possible; "
            "1 of the second thinnest grade, no fewer with so few of the thinnest grade",
            id="some of each",
        ),
        pytest.param(
            ("shifts", "shifts"), "0.95 to 1.05", 4, ("-0.20", "1.00"),
            "2 of 4; no fewer is possible",
            id="the thinnest alone",
        ),
        pytest.param(
            ("shifts", "holds"), "0.95 to 1.05", 0, ("1.00", "0.70"),
            "1 of 4: none of the thinnest grade in packs that shift; 1 of the second thinnest "
            "grade in packs that only hold, no fewer with none of those before",
            id="in packs that only hold",
        ),
    ],
)  # fmt: skip
def test_no_fewer_is_said_of_the_grade_it_is_true_of(
    works: tuple[str, str], window: str, light: int, gaps: tuple[str, str], words: str, solve: Solve
) -> None:
    text = GRADES.replace("WINDOW", window).replace("LIGHT", str(light))
    for key, value in zip(("FORE", "AFT", "IN", "BACK"), (*works, *gaps), strict=True):
        text = text.replace(key, value)
    text = text.replace("    fore: {", "    fore: {readings: {gap: {what: feeler, signed: yes}}, ")
    assert f"thin steels: {words}" in render(solve(text)).splitlines()


def test_of_two_grades_packs_that_only_hold_are_told_apart(solve: Solve) -> None:
    text = GRADES.replace(", plain: 2.30, light: 2.00", ", plain: 2.30")
    text = text.replace(", plain: 4, light: LIGHT", ", plain: 4").replace("WINDOW", "0.95 to 1.05")
    for key, value in (("FORE", "shifts"), ("AFT", "holds"), ("IN", "1.00"), ("BACK", "0.70")):
        text = text.replace(key, value)
    told = render(solve(text))
    assert (
        "thin steels: 1 of 4: none in packs that shift; 1 in packs that only hold, "
        "no fewer with none in packs that shift\n"
    ) in told


HEIGHT = """\
length: mm
unit:
  families:
    hub: {kind: spacer, fixed: 20.00}
    washer: {kind: washer, sizes: {a: 1.60, b: 1.90, c: 2.40}}
  end plays:
    collar: {window: {gap: WINDOW, on: height}, space: 0 mm, stack: [hub, washer]}
shelf: {washer: {b: 1}}
job: {gaps: {collar: {}}}
"""


@pytest.mark.parametrize(
    ("window", "lines"),
    [
        (
            "21.70 to 22.10",
            ["collar: height 21.90 mm   window", "before too low, 0.20 mm before too"],
        ),
        ("22.20 to 22.50", ["21.90 mm, 0.30 mm too low", "collar: lowest height 22.20 mm"]),
        ("21.40 to 21.70", ["21.90 mm, 0.20 mm too high", "collar: highest height 21.70 mm"]),
    ],
)
def test_a_height_is_low_or_high_and_no_end_play(
    window: str, lines: list[str], solve: Solve
) -> None:
    told = render(solve(HEIGHT.replace("WINDOW", window)))
    assert [line for line in lines if line not in told] == []
    assert not {"tight", "loose", "play", "turn"} & {*told.split("\n\nSprings")[0].split()}


def test_a_preload_is_called_so(solve: Solve) -> None:
    text = HEIGHT.replace(", on: height", "").replace("space: 0 mm", "space: 21.85 mm")
    told = render(solve(text.replace("WINDOW", "-0.08 to -0.02")))
    assert "collar: preload -0.05 mm   window -0.08 to -0.02, aim -0.05" in told
    told = render(solve(text.replace("WINDOW", "-0.30 to -0.20")))
    assert "collar: highest end play -0.20 mm (a preload)" in told
    assert "turn freely" not in told  # it is to turn with a drag
    told = render(solve(text.replace("WINDOW", "0.10 to 0.20")))
    assert "A shaft that does not turn freely is not put right by a washer." in told
