"""Whether a job asks what its unit can answer: every finding there is, each caused once."""

from __future__ import annotations

import pytest

from tests.specs.drums import DRUM, Swap, each, problem, problems, taken

WORK = "trial: [thick, thick, thick, .0780], gap: .041"
JOB = "18: job.gaps.low drum"
LIST_THEM = (
    "list the parts from the first end to the second, or write none, thinnest, thickest or old "
    "for a trial build, trial for the build that is in"
)
BUILD = "[thick, thin, thin, .0700]"


@each("references to nothing")
def test_a_reference_to_nothing_is_told(old: str, new: str, told: str) -> None:
    assert problem(DRUM, (old, new)) == told


def work(text: str) -> Swap:
    return (WORK, text)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (f"{WORK}, readings: {{gap: .04}}", ".gap: this reading stands twice; keep one"),
        (
            f"{WORK}, readings: {{gasket: .02}}",
            ".readings.gasket: gaps share this reading; write it under the job's own `readings`",
        ),
        (
            f"{WORK}, keep: {{drum ring: .0690}}",
            ('.keep.drum ring: found ".0690"; the sizes of drum ring are .0600, .0700, .0780; '
            'write one of them, or a size with what it measured: ".0600 0.060 in"'),
        ),
        (
            f"{WORK}, keep: {{drum ring: .0700 7.0}}",
            ".keep.drum ring: 7.000 in is no thickness for a ring: did you mean 7.000 mm?",
        ),
        (
            f"{WORK}, keep: {{drum ring: now}}",
            ".keep.drum ring: the job does not list the build under `now`",
        ),
        (
            f"{WORK}, keep: {{drum steel: thin}}",
            '.keep.drum steel: found "drum steel"; did you mean "drum steel 1"?',
        ),
        (
            f"{WORK}, keep: {{drum plate: now}}",
            None,
        ),
        ("gap: .041, trial: old", ".trial: old means the build under `now`; list that"),
        ("gap: .041, now: trial", ".now: trial means the build under `trial`; list that"),
        (
            "gap: .041, trial: none, now: trial",
            ".now: trial means the build under `trial`; list that",
        ),
        ("gap: .041, now: old", f'.now: found "old"; {LIST_THEM}'),
        (f"{WORK}, now: thinnest", f'.now: found "thinnest"; {LIST_THEM}'),
        ("gap: .041, trial: trial", f'.trial: found "trial"; {LIST_THEM}'),
        (
            "gap: .041, trial: [thick 8.8, thin, thin, .0700]",
            ".trial: 8.800 in is no thickness for a steel: did you mean 8.800 mm?",
        ),
        (
            "gap: .041, trial: [thick, thin, .0700]",
            (".trial: found 3 parts; the stack takes 4 in this order: drum steel 1, drum steel 2, "
            "drum steel 3, drum ring"),
        ),
        (
            f"gap: .041, trial: {BUILD}, now: {{layout: full, parts: {BUILD}}}",
            '.now: found "full"; its layouts: stack',
        ),
        (
            "gap: [.041, 41, .042]",
            (".gap: 41.000 in is no reading of a transmission: did you mean 41.000 thou "
            "(0.041 in) or 41.000 mm?"),
        ),
    ],
)  # fmt: skip
def test_a_gap_of_a_job_that_is_not_right(text: str, told: str | None) -> None:
    shared: Swap = ("unit:\n", "unit:\n  readings: {gasket: x}\n")
    found = problem(DRUM, work(text), shared)
    if told is None:
        assert 'found "drum plate"; ' in found
    else:
        assert found == f"19: job.gaps.low drum{told}"


def test_two_builds_that_name_each_other_are_told_of_both() -> None:
    told = problems(DRUM, work("gap: .041, trial: old, now: trial"))
    assert told == [
        f'18: job.gaps.low drum.trial: found "trial"; {LIST_THEM}',
        f'18: job.gaps.low drum.now: found "old"; {LIST_THEM}',
    ]


def test_a_job_holds_a_reading() -> None:
    gaps = DRUM[DRUM.index("  gaps:") :]
    assert problem(DRUM, (gaps, "  name: J-1\n")) == (
        "16: job: the job holds no readings; write one under `gaps`"
    )


@pytest.mark.parametrize(
    ("reading", "fault"), [("-.002", True), ("[.002, -.002]", True), ("0", False)]
)
def test_a_reading_below_zero_is_an_offset_that_is_signed(reading: str, *, fault: bool) -> None:
    stamp = "      space: trial stack + gap + stamp\n      readings: {stamp: x}\n      window"
    window: Swap = ("      window", stamp)
    stamped = (WORK, f"{WORK}, readings: {{stamp: {reading}}}")
    signed = (window[0], window[1].replace("x}", "{what: x, signed: yes}}"))
    assert taken(DRUM, signed, stamped)
    if fault:
        assert "readings.stamp: a reading is not negative; a preload" in problem(
            DRUM, window, stamped
        )
    else:
        assert taken(DRUM, window, stamped)


# What the job says of its unit.

FACTS: Swap = (
    "unit:\n",
    "unit:\n  facts:\n    oil: {values: [old, new]}\n    air: {values: [on, off], default: on}\n",
)
STACK = "[apply plate, {repeat: 3, of: [friction, drum steel]}, friction, drum plate, drum ring]"
LAYOUT = (
    f"      stack: {STACK}",
    f"""\
      layouts:
        full:
          only if: {{oil: new, air: [on, off]}}
          stack: {STACK}""",
)


def facts(text: str) -> Swap:
    return ("job:\n", f"job:\n  facts: {text}\n")


def test_a_fact_that_a_layout_depends_on_is_asked_for() -> None:
    assert problem(DRUM, FACTS, LAYOUT) == '22: job.facts: say what "oil" is: old or new'
    assert taken(DRUM, FACTS, LAYOUT, facts("{oil: new}"))
    assert taken(DRUM, FACTS)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("{oil: new, ari: on}", '.ari: found "ari"; did you mean "air"?'),
        ("{oil: new, water: on}", '.water: found "water"; facts: oil, air'),
        ("{oil: nwe}", '.oil: found "nwe"; did you mean "new"?'),
        ("{oil: thick}", '.oil: found "thick"; its values: old, new'),
    ],
)
def test_a_fact_that_is_not_right(said: str, told: str) -> None:
    assert problem(DRUM, FACTS, LAYOUT, facts(said)) == f"23: job.facts{told}"


def test_a_layout_and_a_fixed_part_of_this_time() -> None:
    fixed = "{friction: 8.0}"
    unit = (FACTS, LAYOUT, facts("{oil: new}"))
    assert taken(DRUM, *unit, work(f"{WORK}, layout: full"))
    misspelt = problem(DRUM, *unit, work(f"{WORK}, layout: ful"))
    assert misspelt.endswith('low drum.layout: found "ful"; did you mean "full"?')
    told = problem(DRUM, ("job:\n", f"job:\n  parts: {fixed}\n"))
    assert told == (
        "17: job.parts.friction: 8.0 in is no thickness for a friction: did you mean 8.0 mm?"
    )
    steel = problem(DRUM, ("job:\n", "job:\n  parts: {drum steel: .08}\n"))
    assert steel == (
        "17: job.parts.drum steel: its parts are chosen; write what they measured in the build "
        "they are in"
    )


SHORT = "stack: [apply plate, friction, drum steel, friction, drum ring]"
TWO = f"""\
      trial: none
      space: trial stack + gasket
      layouts:
        full: {{rank: 0, {SHORT}}}
        cut: {{rank: 1, {SHORT}}}"""


def test_a_build_that_the_unit_file_asks_for_is_checked_though_the_job_lists_no_gap() -> None:
    gasket: Swap = ("unit:\n", "unit:\n  readings: {gasket: x}\n")
    job: Swap = (DRUM[DRUM.index("  gaps:") :], "  readings: {gasket: .02}\n")
    assert problem(DRUM, (LAYOUT[0], TWO), gasket, job) == (
        "21: job.gaps.low drum.trial: say which layout it is: {layout: ..., parts: [...]} with "
        "one of full, cut"
    )


def test_a_gap_that_waits_is_left_alone_where_the_job_does_not_list_it() -> None:
    other = "    high drum: {window: .02 to .04, stack: [drum ring]}\nshelf:"
    job: Swap = (DRUM[DRUM.index("  gaps:") :], "  gaps:\n    high drum: {trial: none, gap: .02}\n")
    gasket: Swap = ("unit:\n", "unit:\n  readings: {gasket: x}\n")
    assert taken(DRUM, (LAYOUT[0], TWO), gasket, ("shelf:", other), job)


def test_a_reading_that_gaps_share_is_in_proportion_too() -> None:
    gasket: Swap = ("unit:\n", "unit:\n  readings: {gasket: x}\n")
    told = problem(DRUM, gasket, ("job:\n", "job:\n  readings: {gasket: 25}\n"))
    assert "gasket: 25 in is no reading of a transmission: did you mean 25 thou (0.025 in)" in told


def test_a_part_that_is_in_may_be_kept() -> None:
    assert taken(DRUM, work(f"{WORK}, now: {BUILD}, keep: {{drum ring: now, drum steel 1: thick}}"))


def test_a_job_is_not_held_against_a_unit_that_is_wrong() -> None:
    price = problems(DRUM, ("thin: .0690", "thin: {thickness: .0690, price: x}"), work("gap: -.04"))
    assert [line.partition(":")[0] for line in price] == ["6"]
    told = problems(DRUM, ("low drum:\n", "low drum:\n      first in: top\n"), work("gap: -.04"))
    assert [line.partition(":")[0] for line in told] == ["11"]


SHARED = """
length: in
unit:
  families: {washer: {kind: washer, sizes: {A: .050, B: .060}}}
  shared parts: {thrust: {family: washer}}
  end plays:
    front: {window: .010 to .020, space: d, readings: {d: deep}, stack: [thrust]}
    rear: {window: .010 to .020, space: d, readings: {d: deep}, stack: [thrust]}
shelf: {washer: {A: 1, B: 1}}
job:
  gaps:
    front: {readings: {d: .065}, now: [A]}
    rear: {readings: {d: .065}, now: [B]}
"""


def test_a_shared_part_is_one_part_in_every_build_that_names_it() -> None:
    told = "13: job.gaps.rear.now: thrust is B here and A in front: it is one part"
    assert problem(SHARED) == told
    assert taken(SHARED.replace("now: [B]", "now: [A]")).job.gaps["rear"].now
