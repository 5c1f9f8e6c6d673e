"""A kit's check as a person meets it: words, JSON, exit codes, and what goes wrong."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench

KIT = """\
length: in
unit:
  name: Harrow 4
  families:
    friction: {kind: friction, fixed: .0700}
    steel: {kind: steel, sizes: {thick: {thickness: .0880, price: 2.10}, thin: .0690}}
    ring: {kind: ring, sizes: {A: .0720, B: .0800, C: .0880}}
    hub washer: {kind: washer, sizes: {"1": .0500, "2": .0600}}
    shim: {kind: shim, sizes: [.0100]}
    seat: {kind: washer, fixed: .0500}
  packs:
    low: {window: .010 to .018, stack: [steel, friction, ring]}
  end plays:
    play: {window: .005 to .015, stack: [hub washer, {part: shim, how many: 0 to 1}]}
    float: {window: .005 to .015, stack: [seat]}
  always replaced: {pump gasket: crushed once, ring: {count: 2, because: sprung}}
kit:
  name: overhaul kit
  contents:
    steel: {thick: 1}
    ring: {A: 1, C: 1}
    friction: 1
  options:
    washers: {when: the play was out, contents: {hub washer: {"1": 1}}}
"""
JOB = """\
length: in
shelf: not-there.yaml
job: {name: J-7, gaps: {low: {trial: [thick, B], now: [thick, B], gap: .018}}}
"""


@pytest.fixture
def kit(bench: Bench) -> str:
    return bench.write("kit.yaml", KIT)


@pytest.mark.face
def test_what_lacks_is_told_in_order(bench: Bench, kit: str) -> None:
    code, out, err = bench.run("kit", "check", kit)
    assert (code, err) == (3, "")
    assert out.splitlines() == [
        (
            "overhaul kit, Harrow 4: NOT COMPLETE: 1 gap not served, 1 hole, 1 family short, "
            "1 part left out"
        ),
        "  4 parts; those with a price come to 2.10",
        '  without washers, to take when the play was out: --with "washers"',
        "",
        "covers, each alone: it may draw on the whole kit",
        f"  low   [{'.' * 33}++{'#' * 6}+++{'.' * 8}++{'#' * 6}+++{'.' * 9}]",
        "        serves 0.240 to 0.248 in, 0.256 to 0.264 in, of 0.213 to 0.272 in",
        (
            "        of these only up to the limit, marked +: 0.240 to 0.241 in, "
            "0.247 to 0.248 in, 0.256 to 0.257 in, 0.263 to 0.264 in"
        ),
        "        hole: 0.249 to 0.255 in; 1 x ring B more would close it",
        f"  play  [{'.' * 72}]",
        "        serves nothing of 0.045 to 0.095 in",
        "  nothing to choose, and nothing to cover: float",
        "",
        "short of what the unit takes",
        "  hub washer: none; the unit takes 1",
        "  shim: none; the unit takes 0 to 1",
        "",
        "always replaced, and left out",
        "  pump gasket: 0 of 1; crushed once (the unit file says so)",
    ]


def test_an_option_taken_counts_with_the_kit(bench: Bench, kit: str) -> None:
    told = json.loads(bench.run("kit", "check", kit, "--with", "washers", "--json")[1])
    assert told["shape"] == "gapwright kit check 2"
    assert told["with"] == ["washers"]
    play = told["covers"][1]
    assert [play["served"][0][end]["shown"] for end in ("from", "to")] == ["0.055 in", "0.065 in"]
    assert [one["family"] for one in told["short"]] == ["shim"]
    assert told["left out"] == [
        {"part": "pump gasket", "held": 0, "count": 1, "because": "crushed once", "said by": "unit"}
    ]
    assert not told["complete"]


def test_a_job_is_built_from_the_kit_and_not_from_its_own_parts(bench: Bench, kit: str) -> None:
    job = bench.write("job.yaml", JOB)
    code, out, _ = bench.run("kit", "check", kit, "--job", job)
    lines = out.splitlines()
    at = next(n for n, line in enumerate(lines) if "from the kit alone: FITS" in line)
    assert lines[at].startswith(
        "J-7, Harrow 4, from the kit alone: FITS, CLOSE TO THE LIMIT, proved best; low is 49 % sure"
    )
    assert code == 3  # the kit has a hole all the same: the job's own ring B is none of it
    assert "        hole: 0.249 to 0.255 in; 1 x ring B more would close it" in lines
    assert lines[at + 1 : at + 5] == [
        "  low: clearance 0.010 in   window 0.010 to 0.018, aim 0.014",
        "    steel thick, ring C",
        "left over: 1 part",
        "  1 x ring A",
    ]
    told = json.loads(bench.run("kit", "check", kit, "--job", job, "--json")[1])
    assert told["job"]["fit"]["shape"] == "gapwright fit 4"
    assert told["job"]["left over"] == [{"family": "ring", "size": "A", "count": 1}]
    assert {"family": "friction", "size": None, "count": 1} in told["job"]["used"]


def test_a_part_the_job_keeps_stays_and_is_none_of_the_kit(bench: Bench, kit: str) -> None:
    keep = JOB.replace("gap: .018", "gap: .018, keep: {steel: now}")
    job = bench.write("job.yaml", keep)
    told = json.loads(bench.run("kit", "check", kit, "--job", job, "--json")[1])
    used = {(one["family"], one["size"]): one["count"] for one in told["job"]["used"]}
    assert ("steel", "thick") not in used


def test_a_kit_may_be_for_some_gaps_alone(bench: Bench) -> None:
    text = KIT.replace("kit:\n", "kit:\n  for: low\n").replace("C: 1}", "B: 1, C: 1}")
    kit = bench.write("kit.yaml", text.replace("friction: 1\n", "friction: 1\n  also in it: {pump gasket: 1}\n"))  # fmt: skip  # noqa: E501
    code, out, _ = bench.run("kit", "check", kit)
    assert code == 0
    assert out.startswith("overhaul kit, Harrow 4: COVERS ALL IT IS FOR\n")
    assert "play" not in out.partition("covers")[2]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--with", "washer"), 'kit.yaml:23: kit.options: found "washer"; did you mean "washers"?'),
        (("--job", "none.yaml"), "none.yaml: no such file"),
        (("--job", "other.yaml"), "other.yaml:4: job: this job is of Tarn 6, and the kit for H"),
        (("--unit", "none.yaml"), "none.yaml: no such file"),
    ],
)
def test_what_is_wrong_is_one_sentence(
    bench: Bench, kit: str, words: tuple[str, str], says: str
) -> None:
    option, value = words
    bench.write("tarn.yaml", KIT.partition("kit:")[0].replace("Harrow 4", "Tarn 6"))
    bench.write("other.yaml", JOB.replace("length: in\n", "length: in\nunit: tarn.yaml\n"))
    given = str(bench.folder / value) if value.endswith(".yaml") else value
    code, out, err = bench.run("kit", "check", kit, option, given)
    assert (code, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1


def test_time_that_ran_out_is_not_told_as_no_size(bench: Bench, kit: str) -> None:
    code, out, _ = bench.run("kit", "check", kit, "--time", "0")
    assert code == 3
    assert "0.249 to 0.255 in; no time was left to look for a size" in out


def test_a_gap_that_cannot_be_gone_through_is_told_and_the_rest_is(bench: Bench) -> None:
    layouts = (
        "readings: {a: face, b: other face}, layouts: "
        "{one: {rank: 0, space: a, stack: [hub washer]}, "
        "two: {rank: 1, space: b, stack: [hub washer]}}"
    )
    stack = "stack: [hub washer, {part: shim, how many: 0 to 1}]"
    assert stack in KIT
    kit = bench.write("kit.yaml", KIT.replace(stack, layouts))
    code, out, _ = bench.run("kit", "check", kit)
    assert code == 3
    assert ", 1 gap not covered" in out.splitlines()[0]
    assert "  play: cannot be gone through: the layouts of play work their spaces out" in out
    assert "hole: 0.249 to 0.255 in" in out
    told = json.loads(bench.run("kit", "check", kit, "--json")[1])
    assert [one["gap"] for one in told["not covered"]] == ["play"]


def test_past_drums_are_counted_with_all_their_gaps_out_of_one_kit(bench: Bench, kit: str) -> None:
    past = bench.write(
        "past.csv", "low,play,count\n.240,.055,5\n.240,.300,3\n.250,.055,2\n.244,.060,4\n"
    )
    words = ("kit", "check", kit, "--with", "washers", "--history", past)
    line = "past drums: 9 of 14 served, low, play out of one kit; 5 of these only up to the limit"
    assert f"  {line}\n" in bench.run(*words)[1]
    past_told = json.loads(bench.run(*words, "--json")[1])["history"]
    assert past_told == {
        "gaps": ["low", "play"], "drums": 14, "served": 9, "only to the limit": 5,
        "jobs not counted": [],
    }  # fmt: skip
    other = bench.write("other.csv", "lwo\n.240\n")
    code, out, err = bench.run("kit", "check", kit, "--history", other)
    assert (code, out) == (2, "")
    assert err == 'other.csv:1: found "lwo"; did you mean "low"?'
    lone = bench.write("lone.yaml", KIT.replace("kit:\n", "kit:\n  for: play\n"))
    low = bench.write("low.csv", "low\n.240\n")
    code, _, err = bench.run("kit", "check", lone, "--history", low)
    assert code == 2
    assert err == "low.csv:1: no column is of what the kit is for; name one play"
