"""`gapwright tell`: which part a measured thickness is, and a pile sorted into lots."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.gapwright.bench import Bench

UNIT = """\
length: in
unit:
  name: Harrow 4
  gauges: {caliper: .001, micrometer: .0001}
  families:
    low friction: {kind: friction, sizes: {L: .073 to .076}, features: {teeth: 36}}
    high friction: {kind: friction, fixed: .0752, tolerance: .0008, features: {teeth: 40}}
    steel: {kind: steel, sizes: {thick: .0870, thin: .0690}, tolerance: .0005}
    ring: {kind: ring, form: flat, sizes: {A: {thickness: .0600, mark: one}, B: {thickness: .0606, mark: two}}}
    old friction: {kind: friction, fixed: .0980, wear limit: .0920, features: {teeth: 44}}
  packs:
    low: {window: .050 to .070, stack: [low friction, steel, ring]}
"""  # noqa: E501 - as a person writes it


@pytest.fixture
def unit(bench: Bench) -> str:
    return bench.write("unit.yaml", UNIT)


def told(bench: Bench, unit: str, *words: str) -> dict[str, Any]:
    """What the command prints as JSON."""
    code, out, err = bench.run("tell", "--unit", unit, "--json", *words)
    assert err == ""
    found: dict[str, Any] = json.loads(out)
    verdicts = {part["verdict"] for part in found["parts"]}
    assert code == (0 if verdicts == {"told"} else 3)
    return found


def test_one_part_is_told(bench: Bench, unit: str) -> None:
    code, out, _ = bench.run("tell", "0.0871in", "--unit", unit)
    assert code == 0
    assert out.startswith("0.0871 in: steel thick, 100 % sure\n")
    assert "qualified technician decide" in out


def test_the_feature_that_separates_is_named_with_what_each_shows(bench: Bench, unit: str) -> None:
    (part,) = told(bench, unit, ".0748", "--gauge", "caliper")["parts"]
    assert part["verdict"] == "between"
    assert {one["family"] for one in part["can be"]} == {"low friction", "high friction"}
    first = part["next"][0]
    assert (first["kind"], first["name"], first["then"]) == ("feature", "teeth", 1.0)
    assert {one["value"]: one["shown by"] for one in first["values"]} == {
        "36": ["low friction L"], "40": ["high friction"],
    }  # fmt: skip
    thens = [one["then"] for one in part["next"]]
    assert thens == sorted(thens, reverse=True)


def test_what_is_seen_decides(bench: Bench, unit: str) -> None:
    (part,) = told(bench, unit, ".0748", "--gauge", "caliper", "--seen", "teeth=40")["parts"]
    assert [one["family"] for one in part["can be"]] == ["high friction"]


def test_a_mark_and_a_finer_gauge_part_two_rings(bench: Bench, unit: str) -> None:
    (part,) = told(bench, unit, ".0603", "--gauge", "caliper")["parts"]
    assert [one["share"] for one in part["can be"]] == [0.5, 0.5]
    assert [(one["name"], one["then"]) for one in part["next"]] == [
        ("mark", 1.0), ("micrometer", 1.0),
    ]  # fmt: skip


def test_a_part_of_no_size_is_out_of_limits_with_the_nearest(bench: Bench, unit: str) -> None:
    code, out, _ = bench.run("tell", ".0700", "--unit", unit, "--gauge", "micrometer")
    assert code == 3
    assert (
        "0.070 in, micrometer: OUT OF LIMITS, 0.0005 in thicker than steel thin 0.0685 in to "
        "0.0695 in" in out
    )


def test_a_used_part_may_have_worn_as_far_as_its_limit(bench: Bench, unit: str) -> None:
    assert told(bench, unit, ".0935")["parts"][0]["verdict"] == "out of limits"
    worn = told(bench, unit, ".0935", "--used")["parts"][0]
    assert [one["family"] for one in worn["can be"]] == ["old friction"]
    assert told(bench, unit, ".0905", "--used")["parts"][0]["verdict"] == "out of limits"


PILE = """\
part;thickness;gauge;condition;teeth
a;.0732 .0731;caliper;;36
b;.0748;caliper;;
c;.0690;;used;
d;,0871;micrometer;;
e;.0871;micrometer;;
f;.0820;;;
g;.0748;;;52
"""


@pytest.mark.face
def test_a_pile_is_sorted_counted_and_brought_to_a_shelf(bench: Bench, unit: str) -> None:
    pile = bench.write("pile.csv", PILE.replace(",0871", ".0871"))
    counts = str(bench.folder / "counts.csv")
    code, out, err = bench.run("tell", "--unit", unit, "--list", pile, "--count", counts)
    assert (code, err) == (3, "")
    assert out.startswith("7 parts, Harrow 4: 4 told\n")
    assert "steel thick     2      0.0871 in" in out
    assert "BETWEEN low friction L or high friction: 1\n  line 3, b, 0.0748 in, caliper" in out
    assert "line 7, f, 0.082 in: OUT OF LIMITS, 0.0045 in thinner than steel thick" in out
    assert "line 8, g, 0.0748 in, teeth 52: OUT OF LIMITS" in out
    bench.shelf("import", counts, "--mode", "add", "--unit", unit)
    assert {part: number for part, (number, _) in bench.counts().items()} == {
        "low friction L": 1,  # read by caliper: no better than as sold
        "steel thin 1.753 mm used": 1,
        "steel thick 2.212 mm": 2,
    }


THIRDS = """\
part,thickness,condition,gauge
a,.0692 .0691 .0690,used,
b,.0692 .0691 .0692,used,
c,.0872 .0871 .0872,new,micrometer
d,.0872,,
"""


def test_means_that_are_no_whole_nanometre_are_rounded_for_counting(
    bench: Bench, unit: str
) -> None:
    """Thirds of an inch's ten-thousandths: 1756833.3 and 2214033.3 nm."""
    pile, counts = bench.write("pile.csv", THIRDS), str(bench.folder / "counts.csv")
    words = ("tell", "--unit", unit, "--list", pile, "--count", counts)
    assert bench.run(*words)[::2] == (0, "")
    bench.shelf("import", counts, "--mode", "add", "--unit", unit)
    assert {part: number for part, (number, _) in bench.counts().items()} == {
        "steel thin 1.755 mm used": 1,
        "steel thin 1.757 mm used": 1,
        "steel thick 2.214 mm": 1,
        "steel thick": 1,  # read with nobody knows what, as with a caliper: as sold
    }
    assert "1756833 nm" not in (bench.folder / "counts.csv").read_text(encoding="utf-8")
    assert "1.756833 mm" in (bench.folder / "counts.csv").read_text(encoding="utf-8")


NO_GAUGES = UNIT.replace("  gauges: {caliper: .001, micrometer: .0001}\n", "")


def test_the_usual_gauges_are_known_without_the_unit(bench: Bench) -> None:
    """Two rings 0.0006 in apart: a micrometer tells 0.0002 in, a caliper 0.001 in."""
    unit = bench.write("plain.yaml", NO_GAUGES)
    (fine,) = told(bench, unit, ".0601", "--gauge", "micrometer")["parts"]
    assert [(one["size"], one["share"]) for one in fine["can be"]] == [("A", 1.0)]
    (coarse,) = told(bench, unit, ".0601", "--gauge", "caliper")["parts"]
    (bare,) = told(bench, unit, ".0601")["parts"]
    assert bare["can be"] == coarse["can be"]
    assert [one["share"] for one in bare["can be"]] == [0.5, 0.5]
    gauges = [one["name"] for one in bare["next"] if one["kind"] == "gauge"]
    assert gauges == ["a micrometer good to 0.0002 in"]
    metric = bench.write("mm.yaml", NO_GAUGES.replace("length: in", "length: mm").replace(
        ".073 to .076", "1.85 to 1.93").replace(".0752", "1.910").replace(".0008", "0.02").replace(
        ".0870", "2.21").replace(".0690", "1.75").replace(".0005", "0.013").replace(
        ".0600", "1.524").replace(".0606", "1.540").replace(".0980", "2.49").replace(
        ".0920", "2.34").replace(".050 to .070", "1.3 to 1.8"))  # fmt: skip
    (fine,) = told(bench, metric, "1.528", "--gauge", "micrometer")["parts"]
    assert [(one["size"], one["share"]) for one in fine["can be"]] == [("A", 1.0)]
    (bare,) = told(bench, metric, "1.5489")["parts"]  # A ends at 1.5494: a caliper tells 0.0254
    assert [one["share"] for one in bare["can be"]] == [0.5, 0.5]


def test_a_unit_that_describes_a_usual_gauge_is_believed(bench: Bench) -> None:
    good = NO_GAUGES.replace("unit:\n", "unit:\n  gauges: {caliper: .0002}\n")
    unit = bench.write("plain.yaml", good)
    (bare,) = told(bench, unit, ".0601")["parts"]
    assert [one["size"] for one in bare["can be"]] == ["A"]
    by = NO_GAUGES.replace("unit:\n", "unit:\n  parts read with: micrometer\n")
    (bare,) = told(bench, bench.write("plain.yaml", by), ".0601")["parts"]
    assert [one["size"] for one in bare["can be"]] == ["A"]
    slip = bench.write("slip.yaml", by.replace("with: micrometer", "with: micormeter"))
    code, _, err = bench.run("tell", ".0601", "--unit", slip)
    assert code == 2
    assert 'unit.parts read with: found "micormeter"; did you mean "micrometer"?' in err


UNEVEN = """\
part,thickness,condition
level,.0688 .0692,used
wedge,.0680 .0704,used
new wedge,.0682 .0703,new
"""


def test_an_uneven_plate_is_not_told_good(bench: Bench, unit: str) -> None:
    pile, counts = bench.write("pile.csv", UNEVEN), str(bench.folder / "counts.csv")
    words = ("tell", "--unit", unit, "--list", pile, "--seen", "kind=steel")
    parts = {part["part"]: part for part in told_used(bench, *words)}
    assert {name: part["standing"] for name, part in parts.items()} == {
        "level": "good", "wedge": "in doubt", "new wedge": "in doubt",
    }  # fmt: skip
    assert parts["wedge"]["because"] == [
        "uneven: its places differ by 0.0024 in, more than the gauge explains"
    ]
    _, out, _ = bench.run(*words, "--count", counts)
    assert "NOT KNOWN TO BE GOOD: uneven: its places differ by 0.0021 in" in out
    bench.shelf("import", counts, "--mode", "add", "--unit", unit)
    assert {part: number for part, (number, _) in bench.counts().items()} == {
        "steel thin 1.753 mm used": 1
    }


def test_a_size_is_certain_only_where_no_other_can_read_so(bench: Bench, unit: str) -> None:
    """Read with a gauge of many small errors no reading is beyond doubt, however near."""
    assert "steel thick, 100 % sure" in bench.run("tell", ".0871", "--unit", unit)[1]
    bell = bench.write("bell.yaml", UNIT.replace("caliper: .001", "caliper: {u: .0011}"))
    _, out, _ = bench.run("tell", ".0871", "--unit", bell, "--seen", "kind=steel")
    assert "steel thick, 100 % sure" in out  # 0.0176 in from the other: 8 u and its range
    near = bench.write("near.yaml", UNIT.replace("caliper: .001", "caliper: {u: .0022}"))
    _, out, _ = bench.run("tell", ".0871", "--unit", near, "--seen", "kind=steel")
    assert "steel thick, over 99.9 % sure" in out


def test_a_part_in_a_pile_has_the_next_look_it_has_alone(bench: Bench, unit: str) -> None:
    texts = (".0746", ".0748", ".0752")
    pile = told(bench, unit, *texts, "--gauge", "caliper")["parts"]
    alone = [told(bench, unit, text, "--gauge", "caliper")["parts"][0] for text in texts]
    assert {part["verdict"] for part in pile} == {"between"}
    assert [part["next"] for part in pile] == [part["next"] for part in alone]
    assert len({one["then"] for part in pile for one in part["next"]}) > 2


def test_parts_of_a_fixed_family_are_told_and_left_out_of_the_counts(
    bench: Bench, unit: str
) -> None:
    counts = str(bench.folder / "counts.csv")
    code, out, _ = bench.run("tell", "--unit", unit, ".0980", "--count", counts)
    assert code == 0
    assert "left out, as no shelf has them: old friction" in out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (PILE, "pile.csv:5: thickness: ',0871' "),
        (PILE.replace(";teeth", ";tooth"), 'pile.csv:1: found "tooth"; did you mean "teeth"?'),
        ("part;size\na;b\n", "pile.csv:1: no column is called `thickness`"),
        ("thickness;thickness\n.1;.1\n", 'pile.csv:1: two columns are called "thickness"'),
        ("", "pile.csv: this list is empty"),
        ("thickness\n", "pile.csv: there is no row under the header"),
        ("thickness;part\n;a\n", "pile.csv:2: this row has no thickness"),
        ("thickness\n71\n", "pile.csv:2: thickness: 71 in is no thickness"),
        ("thickness;gauge\n.071;calliper\n", 'gauge: found "calliper"; did you mean "caliper"?'),
        ("thickness;condition\n.071;worn\n", 'condition: found "worn"; write: new, used'),
        ("thickness;found\n.071;hot spots\n", "flatness, coning and found are of used parts"),
        ("thickness;teeth\n.071\n", "found 1 cells; the header names 2 columns"),
    ],
)
def test_a_list_that_cannot_be_taken_is_refused_by_line(
    bench: Bench, unit: str, text: str, said: str
) -> None:
    code, out, err = bench.run("tell", "--unit", unit, "--list", bench.write("pile.csv", text))
    assert (code, out) == (2, "")
    assert said in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "write a thickness, such as 0.0655in, or --list pile.csv"),
        (("0.0655x",), "unknown unit 'x'"),
        ((".0655", "--found", "hot spots"), "--flatness, --coning and --found go with --used"),
        ((".0655", "--seen", "teeth"), "write what you see as teeth=36"),
        ((".0655", "--seen", "tooth=3"), '--seen: found "tooth"; did you mean "teeth"?'),
        ((".0655", "--gauge", "eye"), 'gauge: found "eye"; the gauges known are'),
        ((".0655", "--list", "none.csv"), "none.csv: no such file"),
    ],
)
def test_what_cannot_be_asked_is_refused(
    bench: Bench, unit: str, words: tuple[str, ...], said: str
) -> None:
    code, out, err = bench.run("tell", "--unit", unit, *words)
    assert (code, out) == (2, "")
    assert said in err


def test_without_a_unit_the_one_here_is_taken(
    bench: Bench, unit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(bench.folder)
    assert unit.endswith("unit.yaml")
    assert bench.run("tell", ".0871")[0] == 0
    (bench.folder / "unit.yaml").unlink()
    assert bench.run("tell", ".0871")[2] == ("name the file that holds the unit: --unit unit.yaml")


PISTONS = UNIT.replace(
    "  packs:\n",
    """\
  belongs together:
    piston and spring:
      sets:
        deep: {piston height: 1.315 ± .002, piston spring: nine turns}
        shallow: {piston height: 1.190 ± .002, piston spring: twelve turns}
      would: the spring goes solid before the pack is pressed
  packs:
""",
)


def test_a_piston_is_told_with_the_spring_it_belongs_with(bench: Bench) -> None:
    unit = bench.write("pistons.yaml", PISTONS)
    code, out, _ = bench.run("tell", "1.316in", "--unit", unit)
    assert code == 0
    assert "piston height deep, 100 % sure" in out
    assert "belongs with piston spring nine turns; mixed, the spring goes solid before" in out
    counts = str(bench.folder / "counts.csv")
    _, out, _ = bench.run("tell", "1.1910", "--unit", unit, "--count", counts)
    assert "left out, as no shelf has them: piston height" in out


def test_a_piston_seen_with_the_others_spring_is_refused(bench: Bench) -> None:
    unit = bench.write("pistons.yaml", PISTONS)
    seen = ("--seen", "piston spring=twelve turns")
    code, out, err = bench.run("tell", "1.316in", "--unit", unit, *seen)
    assert (code, out) == (2, "")
    assert err == (
        "piston spring twelve turns goes with piston height 1.190 ± .002, and piston height here "
        "is 1.315 ± .002: the spring goes solid before the pack is pressed; use parts of one set, "
        "or mend what is written"
    )
    pile = bench.write("pile.csv", "thickness,piston spring\n1.316,nine turns\n1.189,nine turns\n")
    code, _, err = bench.run("tell", "--unit", unit, "--list", pile)
    assert code == 2
    assert err.startswith("pile.csv:3: piston spring nine turns goes with piston height 1.315")
    right = bench.write(
        "pile.csv", "thickness,piston spring\n1.316,nine turns\n1.189,twelve turns\n"
    )
    assert bench.run("tell", "--unit", unit, "--list", right)[0] == 0


WORN = UNIT.replace(
    "tolerance: .0005}",
    "tolerance: .0005, wears by: .0030, wear limit: .0670, flat within: .0060, "
    "reject for: {hot spots: overheated there and hard or cracked}}",
)
USED = """\
part,thickness,condition,flatness,found
good,.0685 .0682,used,.0040,
hot,.0675,used,.0040,hot spots
bent,.0860,used,.0070,
unread,.0860,used,,
thin,.0655,used,.0010,
new,.0870,new,,
"""


def test_only_good_used_parts_go_to_the_shelf_and_the_others_say_why(bench: Bench) -> None:
    unit, pile = bench.write("worn.yaml", WORN), bench.write("used.csv", USED)
    counts = str(bench.folder / "counts.csv")
    words = ("tell", "--unit", unit, "--list", pile, "--count", counts, "--seen", "kind=steel")
    code, out, _ = bench.run(*words)
    assert code == 3
    assert "NOT TO THE SHELF: 4" in out
    assert "hot, 0.0675 in, used, kind steel, steel thin: WORN" in out
    assert "hot spots: overheated there and hard or cracked" in out
    assert "flatness 0.007 in, 0.006 in at most" in out
    assert "NOT KNOWN TO BE GOOD: its flatness is not read: 0.006 in at most" in out
    assert "WORN, not to be used again: 0.0655 in is under its wear limit 0.067 in" in out
    bench.shelf("import", counts, "--mode", "add", "--unit", unit)
    assert {part: number for part, (number, _) in bench.counts().items()} == {
        "steel thin 1.736 mm used": 1, "steel thick": 1,
    }  # fmt: skip


def test_one_used_part_is_judged_on_the_bench(bench: Bench) -> None:
    unit = bench.write("worn.yaml", WORN)
    words = ("tell", ".0685", "--unit", unit, "--used", "--seen", "kind=steel")
    assert bench.run(*words)[0] == 3
    code, out, _ = bench.run(*words, "--flatness", ".0030")
    assert code == 0
    assert "used, within every limit the unit file has" in out
    (part,) = told_used(bench, *words, "--flatness", ".0030", "--found", "hot spots")
    assert part["standing"] == "worn"
    assert part["because"] == ["hot spots: overheated there and hard or cracked"]
    code, _, err = bench.run(*words, "--flatness", "flat")
    assert code == 2
    assert err.startswith("--flatness: 'flat'")


def told_used(bench: Bench, *words: str) -> list[dict[str, Any]]:
    code, out, _ = bench.run(*words, "--json")
    assert code == 3
    parts: list[dict[str, Any]] = json.loads(out)["parts"]
    return parts


def test_a_worn_part_is_refused_by_the_shelf_where_the_unit_is_known(bench: Bench) -> None:
    unit = bench.write("worn.yaml", WORN)
    text = "family,size,count,thickness,condition\nsteel,thin,1,0.0655 in,used\n"
    counts = bench.write("counts.csv", text)
    said = (
        "steel thin: 0.0655 in is under its wear limit 0.067 in; a worn part is none for the shelf"
    )
    assert said in bench.refused("import", counts, "--mode", "add", "--unit", unit)
    again = ("steel", "thin", "1", "--measured", "0.0655 in", "--used", "--unit", unit)
    assert said in bench.refused("add", *again)
    bench.shelf("import", counts, "--mode", "add")  # nothing says what it is
