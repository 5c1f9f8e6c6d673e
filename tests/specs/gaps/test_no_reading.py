"""What is no reading, what a proud ring reads, and a trial build with a place left empty."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from specs.errors import InputError
from specs.files.job_table import read_job_table
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.job_gap import JobGap
from specs.gaps.uncertainty_budget import reading_doubts
from specs.gaps.varied_reading import move_reading
from specs.values.lengths import ZERO, Length, parse_length

if TYPE_CHECKING:
    from pathlib import Path

    from specs.models.case import Case

UNIT = """\
length: mm
unit:
  gauges: {feeler: 0.04, dial: 0.01}
  families:
    disc: {kind: friction, fixed: 1.60}
    steel: {kind: steel, sizes: {thick: 1.95, thin: 1.72}}
    ring: {kind: ring, sizes: {slim: 1.40, full: 1.75}}
    washer: {kind: washer, sizes: {a: 1.10, b: 1.35, c: 1.60}}
  packs:
    low:
      window: 0.75 to 1.15
      readings: {gap: {what: feeler under the ring, gauge: feeler, places: 3}}
      stack: [{repeat: 2, of: [disc, steel]}, disc, ring]
    deep:
      window: 0.75 to 1.15
      space: depth - edge
      readings: {depth: case to piston, edge: the straightedge}
      stack: [disc, steel, ring]
  end plays:
    front:
      window: 0.10 to 0.35
      space: trial stack + play
      readings: {play: dial on the shaft}
      stack: [washer]
    bearing:
      window: -0.05 to 0.02
      stack: [washer]
    offset:
      window: 0.10 to 0.35
      readings: {gap: {what: face to face, signed: yes}}
      stack: [washer]
shelf: {}
job:
  gaps:
    GAPS
"""
TRIAL = "trial: [thick, thick, full]"


def case(gaps: str) -> Case:
    return case_of(parse(UNIT.replace("GAPS", gaps), "job.yaml"))


def said(gaps: str) -> str:
    with pytest.raises(InputError) as caught:
        case(gaps)
    return str(caught.value)


@pytest.mark.parametrize(
    ("gaps", "places"),
    [
        (f"low: {{{TRIAL}, gap: 0}}", {"gap": (1,)}),
        (f"low: {{{TRIAL}, gap: [0.000, 0.05, .00]}}", {"gap": (1, 3)}),
        (f"low: {{{TRIAL}, gap: {{stops: 0.05}}}}", {"gap": (1,)}),
        (f"low: {{{TRIAL}, gap: {{goes: 0, stops: 0.05}}}}", {"gap": (1,)}),
        (f"low: {{{TRIAL}, readings: {{gap: 0}}}}", {"gap": (1,)}),
        ("front: {trial: [b], readings: {play: 0}}", {"play": (1,)}),
        ("bearing: {trial: [b], gap: {stops: 0.04}}", {"gap": (1,)}),
        (f"low: {{{TRIAL}, gap: 0.01}}", {}),
        (f"low: {{{TRIAL}, gap: {{goes: 0.04, stops: 0.05}}}}", {}),
        (f"low: {{{TRIAL}, gap: {{proud: 0.3}}}}", {}),
        ("deep: {readings: {depth: 0, edge: 0}}", {}),
        ("bearing: {trial: [b], gap: 0}", {}),
        ("offset: {trial: [b], gap: 0}", {}),
    ],
)
def test_what_reads_nothing_is_no_reading_and_the_gap_waits_for_it(
    gaps: str, places: dict[str, tuple[int, ...]]
) -> None:
    name = gaps.partition(":")[0]
    gap = JobGap(case(gaps), name)
    assert gap.no_reading() == places
    assert gap.missing() == tuple(places)


def test_a_reading_that_is_varied_is_a_figure_at_zero_too() -> None:
    for gaps in (f"low: {{{TRIAL}, gap: [0, 0.1]}}", f"low: {{{TRIAL}, gap: {{stops: 0.05}}}}"):
        moving = move_reading(case(gaps), "gap", "low")
        assert moving.stands is None
        assert JobGap(moving.case, "low").missing() == ()
        assert JobGap(moving.at(ZERO), "low").trial_gap("stack") == ZERO
        assert JobGap(moving.at(Length(-5_000)), "low").trial_gap("stack") == Length(-5_000)
    moving = move_reading(case(f"low: {{{TRIAL}, gap: {{proud: 0.30}}}}"), "gap", "low")
    assert moving.stands == parse_length("-0.30 mm")


def test_a_proud_ring_reads_below_nothing_with_three_times_the_doubt() -> None:
    proud, plain = (
        case(f"low: {{{TRIAL}, gap: {{proud: 0.30}}}}"),
        case(f"low: {{{TRIAL}, gap: 1}}"),
    )
    told, usual = JobGap(proud, "low"), JobGap(plain, "low")
    assert told.trial_gap("stack") == parse_length("-0.30 mm")
    (doubt, times), (one, once) = (
        reading_doubts(gap, "gap", gap.needed("gap"))[0] for gap in (told, usual)
    )
    assert (doubt.size, times) == (one.size * 3, once)
    stated = JobGap(case(f"low: {{{TRIAL}, gap: {{proud: 0.30, u: 0.02}}}}"), "low")
    ((doubt, _),) = reading_doubts(stated, "gap", stated.needed("gap"))
    assert doubt.size == parse_length("0.02 mm")


def test_a_place_left_out_of_the_trial_build_counts_nothing() -> None:
    for text in ("[thick, left out, full]", "[thick, [left out], full]"):
        gap = JobGap(case(f"low: {{trial: {text}, gap: 1.60}}"), "low")
        layout = gap.written.arrangements["stack"]
        assert gap.trial_stack(layout) == parse_length("8.50 mm")  # 3 x 1.60 + 1.95 + 1.75
        assert gap.space("stack").length == parse_length("10.10 mm")


@pytest.mark.parametrize(
    ("gaps", "sentence"),
    [
        (f"low: {{{TRIAL}, gap: {{proud: 0.3, at: 1}}}}", "write one of `at`"),
        (f"low: {{{TRIAL}, gap: {{proud: 0.3, goes: 1, stops: 2}}}}", "write one of `at`"),
        (f"low: {{{TRIAL}, gap: {{proud: 0}}}}", "flush reads 0"),
        (f"low: {{{TRIAL}, gap: {{proud: -0.3}}}}", "more than nothing"),
        (f"low: {{{TRIAL}, gap: {{proud: x}}}}", "job.gaps.low.gap"),
        (f"low: {{{TRIAL}, gap: {{goes: 0.3}}}}", "no less than what goes"),
        ("deep: {readings: {depth: {proud: 0.3}, edge: 0}}", "depth.proud: a ring stands proud"),
        ("deep: {readings: {depth: {stops: 0.3}, edge: 0}}", "depth.stops: write `goes` and"),
        (f"low: {{{TRIAL}, gap: 1, as built: {{proud: 0.3}}}}", "as built.proud: a ring"),
        (f"low: {{{TRIAL}, gap: 1, as built: {{stops: 0.3}}}}", "as built.stops: write `goes`"),
        (f"low: {{{TRIAL}, gap: 1, now: [thick, left out, full]}}", "in a `trial` build only"),
        ("low: {trial: [thick, left out, full], gap: 1, now: trial}", "in a `trial` build only"),
        (
            f"low: {{{TRIAL}, gap: 1, as built: {{at: 1, parts: [thick, left out, full]}}}}",
            "in a `trial` build only",
        ),
        ("low: {trial: [thick, [left out, thin], full], gap: 1}", "found 2 parts for steel 2"),
    ],
)
def test_what_is_written_wrongly_is_told(gaps: str, sentence: str) -> None:
    assert sentence in said(gaps)


def test_a_table_of_jobs_tells_a_proud_ring_blades_and_a_place_left_out(tmp_path: Path) -> None:
    table = tmp_path / "jobs.csv"
    table.write_text(
        "job;low / trial;low / gap\n"
        "1;thick left  out full;proud .3\n2;left out;stops 0.05 mm\n3;thick thick full;.1 .2\n",
        encoding="utf-8",
    )
    rows = [source.data["job"]["gaps"]["low"] for source in read_job_table(table)]
    assert rows == [
        {"trial": ["thick", "left out", "full"], "gap": {"proud": ".3"}},
        {"trial": ["left out"], "gap": {"stops": "0.05 mm"}},
        {"trial": ["thick", "thick", "full"], "gap": [".1", ".2"]},
    ]
