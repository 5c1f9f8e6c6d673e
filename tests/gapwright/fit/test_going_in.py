"""Parts measured before they go in: they stay where they are, and the rest is chosen over them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench

THICKER = "going in: [thin .0700, thick .0885, thick .0884, to choose]"
"""Together .0019 more than marked: the ring .0700 would leave .0661."""


def with_parts(drum: str, going_in: str) -> str:
    return drum.replace("gap: .041}", f"gap: .041, {going_in}}}")


def test_the_gap_is_worked_out_over_what_was_measured(bench: Bench, drum: str) -> None:
    told = bench.run("fit", bench.write("job.yaml", with_parts(drum, THICKER)), "--json")
    (gap,) = json.loads(told[1])["gaps"]
    sizes = [(part["size"], part["thickness"]["nm"]) for part in gap["parts"] if part["size"]]
    measured = [1_778_000, 2_247_900, 2_245_360]
    assert [nm for _, nm in sizes[:3]] == measured
    steels, ring = sum(measured), sizes[3][1]
    trial = 3 * 2_235_200 + 1_981_200
    assert gap["gap"]["nm"] == 1_041_400 + trial - steels - ring


@pytest.mark.face
def test_what_was_promised_is_told_over_the_parts_as_measured(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    text = (bench.folder / "job.yaml").read_text()
    bench.write(
        "job.yaml", with_parts(text, "going in: [thin .0725, thick .0905, thick .0905, to choose]")
    )
    lines = bench.run("fit", job)[1].splitlines()
    (start,) = [nth for nth, line in enumerate(lines) if line.startswith("not as promised on")]
    assert lines[start + 1 : start + 5] == [
        "  low drum: 0.068 in then, 0.0695 in now",
        "    as measured, the parts promised would give 0.0595 in",
        "    out: 1 x drum ring .0700",
        "    in: 1 x drum ring .0600",
    ]


@pytest.mark.parametrize(
    ("going_in", "sentence"),
    [
        ("thinnest", "list the parts"),
        ("[thin, thick]", "found 2 parts; the stack takes 4 in this order"),
        ("[thin, thick, thick, .0900]", '".0900"; the sizes of drum ring are'),
        ("[thin .0690, thick 2.2 in, thick, to choose]", "2.200 in is no thickness for a steel"),
    ],
)
def test_a_wrong_list_is_told_with_what_is_allowed(
    bench: Bench, drum: str, going_in: str, sentence: str
) -> None:
    code, out, err = bench.run(
        "fit", bench.write("job.yaml", with_parts(drum, f"going in: {going_in}"))
    )
    assert (code, out) == (2, "")
    assert "job.gaps.low drum.going in" in err
    assert sentence in err


def test_a_part_that_goes_in_is_not_kept_too(bench: Bench, drum: str) -> None:
    text = with_parts(drum, "keep: {drum ring: .0700}, going in: [thin, thick, thick, .0700]")
    code, _, err = bench.run("fit", bench.write("job.yaml", text))
    assert code == 2
    assert "drum ring goes in here, and stands under `keep` too; keep one" in err


def test_what_goes_in_leaves_the_shelf_once(bench: Bench, drum: str) -> None:
    """One thin steel in the shop, and it is in hand: it is that one, and no second is needed."""
    one = drum.replace("thin: {count: 2, bin: B3}", "thin: {count: 1, bin: B3}")
    assert bench.run("fit", bench.write("job.yaml", with_parts(one, THICKER)))[0] == 0
    full = with_parts(one, "going in: [thin .0700, to choose, thick, to choose]")
    told = bench.run("fit", bench.write("job.yaml", full), "--json")[1]
    (gap,) = json.loads(told)["gaps"]
    assert [part["size"] for part in gap["parts"]].count("thin") == 1
