"""A kit file: what is wrong with it, all at once, and the shelf it comes to."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pytest

from specs.errors import InputError
from specs.files.read import case_of, read_case, read_kit, read_shelf
from specs.formats.yaml import parse
from specs.parts.kit_contents import also_held, as_shelf, check_options, held, kit_of

if TYPE_CHECKING:
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Harrow 4
  families:
    friction: {kind: friction, fixed: .0800}
    steel: {kind: steel, sizes: {thick: .0880, thin: .0690}}
    ring: {kind: ring, sizes: {A: .0600, B: {thickness: .0700, mark: "7"}}}
    plate: {kind: pressure plate, sizes: {full: .2000, cut: .1700}}
  packs:
    low: {window: .010 to .018, stack: [steel, friction, plate, ring]}
  always replaced: {pump gasket: crushed once}
"""
KIT = """\
length: in
unit: unit.yaml
kit:
  name: overhaul kit
  contents:
    steel: {thick: 3, thin: 1}
    ring: {A: 1, "7": 2}
    friction: 4
  also in it: {pump gasket: 1}
  options:
    cut plate: {when: four frictions are wanted, contents: {plate: {cut: 1}, steel: {thin: 1}}}
  always replaced: {friction: {count: 4, because: linings wear}}
"""


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (tmp_path / "kit.yaml").write_text(KIT, encoding="utf-8")
    return tmp_path


def wrong(bench: Path, old: str, new: str) -> list[str]:
    assert old in KIT
    (bench / "bad.yaml").write_text(KIT.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_kit(bench / "bad.yaml")
    return [str(one).replace(f"{bench}/", "") for one in refused.value.problems]


def test_a_kit_is_counted_by_the_names_of_its_unit(bench: Path) -> None:
    case = read_kit(bench / "kit.yaml")
    assert held(case) == Counter(
        {("steel", "thick"): 3, ("steel", "thin"): 1, ("ring", "A"): 1, ("ring", "B"): 2,
         ("friction", ""): 4}
    )  # fmt: skip
    assert also_held(case) == Counter({"pump gasket": 1})
    assert kit_of(case).always_replaced["friction"].count == 4
    assert case.unit.always_replaced["pump gasket"].because == "crushed once"


def test_an_option_is_added_where_it_is_taken(bench: Path) -> None:
    case = read_kit(bench / "kit.yaml")
    more = held(case, ["cut plate"]) - held(case)
    assert more == Counter({("plate", "cut"): 1, ("steel", "thin"): 1})
    assert as_shelf(case, ["cut plate"]).shelf["steel"]["thin"][0].count == 2
    with pytest.raises(InputError, match='did you mean "cut plate"'):
        check_options(case, ["cut plat"])


def test_a_kit_serves_wherever_a_shelf_is_asked_for(bench: Path) -> None:
    shelves = {"steel": {"thick": 3, "thin": 1}, "ring": {"A": 1, "B": 2}}
    job = "unit: unit.yaml\nshelf: kit.yaml\njob: {gaps: {low: {gap: .1 in, trial: none}}}\n"
    (bench / "job.yaml").write_text(job, encoding="utf-8")
    for case in (
        read_shelf(bench / "kit.yaml"),
        read_case(bench / "job.yaml"),
        read_case(bench / "job.yaml", shelf=bench / "kit.yaml"),
    ):
        assert {
            family: {size: sum(lot.count for lot in lots) for size, lots in sizes.items()}
            for family, sizes in case.shelf.items()
        } == shelves


def test_a_shelf_beside_the_kit_is_the_shelf() -> None:
    text = UNIT + KIT.removeprefix("length: in\nunit: unit.yaml\n") + "shelf: {ring: {A: 5}}\n"
    case = case_of(parse(text, "all.yaml"), needs=("unit", "shelf"))
    assert case.kit is None
    assert case.shelf["ring"]["A"][0].count == 5
    kit = case_of(parse(text, "all.yaml"), needs=("unit", "kit"))
    assert kit.shelf["ring"]["A"][0].count == 1


def test_all_that_is_wrong_is_told_at_once(bench: Path) -> None:
    told = wrong(
        bench,
        KIT[KIT.index("    steel:") : KIT.index("  also")],
        "    steel: 3\n    rnig: {A: 1}\n    friction: {thick: 2}\n"
        '    ring: {B: 1, "7": 1, E: 1, A .0621: 1}\n    plate: {full: two}\n',
    )
    says = [
        'bad.yaml:6: kit.contents.steel: this part has sizes; write how many of each: {"thick": 1}',
        'bad.yaml:7: kit.contents.rnig: found "rnig"; did you mean "ring"?',
        "bad.yaml:8: kit.contents.friction: this part has one thickness; write how many",
        'bad.yaml:9: kit.contents.ring.7: "B" and "7" are the same size; list it once',
        'bad.yaml:9: kit.contents.ring.E: found "E"; the sizes of ring are A 0.060 in, B',
        "bad.yaml:9: kit.contents.ring.A .0621: a kit counts parts as sold; write them under",
        'bad.yaml:10: kit.contents.plate.full: found "two"; write a whole number of 0 or more',
    ]
    assert [one[: len(said)] for one, said in zip(told, says, strict=True)] == says


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("contents:\n", "contnts:\n", 'kit.contnts: found "contnts"; did you mean "contents"?'),
        ("{pump gasket: 1}", "{plate: 1}", "kit.also in it.plate: this is a family of the unit"),
        ("{pump gasket: 1}", "{pump gasket: -1}", 'found "-1"; write a whole number'),
        ("count: 4,", "count: 0,", "kit.always replaced.friction.count: write how many, 1 or more"),
        ("when: four frictions are wanted, ", "", "kit.options.cut plate.when: this key is missin"),
        ("contents: {plate: {cut: 1}, steel: {thin: 1}}", "contents: {}", "nothing in this option"),
        ("kit:\n", "kti:\n", 'found "kti"; did you mean "kit"?'),
    ],
)
def test_each_slip_is_one_sentence(bench: Path, old: str, new: str, says: str) -> None:
    (told, *more) = wrong(bench, old, new)
    assert says in told
    assert not more


def test_an_empty_kit_and_no_kit_are_refused(bench: Path) -> None:
    empty = bench / "empty.yaml"
    empty.write_text("unit: unit.yaml\nkit: {name: nothing}\n", encoding="utf-8")
    with pytest.raises(InputError, match="there is nothing in this kit"):
        read_kit(empty)
    with pytest.raises(InputError, match="this file holds no kit; write it under the key `kit`"):
        read_kit(bench / "unit.yaml")
