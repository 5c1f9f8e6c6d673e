"""Files that are wrong: every problem with its line, its field, what was found, what to write."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from specs.errors import InputError
from specs.files.read import case_of, read_case
from specs.formats.yaml import parse
from tests.specs.drums import BROKEN, DRUM, Swap, each, problem, problems, swapped, taken

pytestmark = pytest.mark.face  # what each version of the libraries makes of a wrong file
DEMO = Path(__file__).parents[3] / "gapwright" / "demo"
WINDOW = ".060 to .080"
TRIAL = "[thick, thick, thick, .0780]"


def test_the_drum_and_the_demo_are_taken() -> None:
    assert [*taken(DRUM).unit.gaps] == ["low drum"]
    for job in ("job.yaml", "job-no-fit.yaml"):
        assert len(read_case(DEMO / job).unit.gaps) == 6


@each("misspelt keys")
def test_a_misspelt_key_is_told_the_nearest_at_every_level(old: str, new: str, told: str) -> None:
    assert problem(DRUM, (old, new)) == told


@each("references to nothing")
def test_a_reference_to_nothing_is_told_the_nearest(old: str, new: str, told: str) -> None:
    assert problem(DRUM, (old, new)) == told


@each("values that cannot be taken")
def test_a_value_that_cannot_be_taken(old: str, new: str, told: str) -> None:
    assert problem(DRUM, (old, new)) == told


@each("not plain yaml")
def test_what_is_not_plain_yaml_is_told_of_these_files_too(old: str, new: str, told: str) -> None:
    assert problem(DRUM, (old, new)) == told


@pytest.mark.parametrize("swaps", BROKEN["no echo of what is set aside"])
def test_what_is_set_aside_has_no_echo(swaps: list[Swap]) -> None:
    assert len(problems(DRUM, *swaps)) == 1


@pytest.mark.parametrize("word", ["on", "1", "y", "maybe", "[yes]"])
def test_a_flag_is_yes_or_no(word: str) -> None:
    found = "a list" if word == "[yes]" else f'"{word}"'
    told = problem(DRUM, (WINDOW, f"{{gap: {WINDOW}, nearest: {word}}}"))
    assert told == f"11: unit.packs.low drum.window.nearest: found {found}; write yes or no"


def test_words_that_other_readers_take_for_flags_are_names_here() -> None:
    case = taken(
        DRUM,
        ("thick: .0880, thin:", "no: .0880, on:"),
        ("thick: 5, thin: 2", "no: 5, on: 2"),
        (TRIAL, "[no, no, on, .0780]"),
        (WINDOW, f"{{gap: {WINDOW}, on: gap, nearest: NO}}"),
    )
    assert [*case.unit.families["drum steel"].sizes] == [*case.shelf["drum steel"]] == ["no", "on"]
    window = case.unit.packs["low drum"].window
    assert window is not None
    assert not window.nearest


def test_a_bare_number_needs_the_unit_of_its_file() -> None:
    told = problems(DRUM, ("length: in\n", ""))
    assert told[0] == (
        "3: unit.families.apply plate.fixed: '.1000' has no unit: "
        "write .1000 in, .1000 mm or .1000 thou"
    )
    assert all("has no unit" in line for line in told)
    assert len(told) == 10
    assert problems(DRUM, ("length: in", "length: inch"))[0] == (
        '1: length: found "inch"; did you mean "in"?'
    )


def test_a_window_wholly_out_of_proportion_is_told_of_both_ends() -> None:
    assert problems(DRUM, (WINDOW, "60 to 80")) == [
        f"11: unit.packs.low drum.window: {end}.000 in is no limit of a window: "
        f"did you mean {end}.000 thou (0.0{end} in) or {end}.000 mm?"
        for end in (60, 80)
    ]


def test_a_length_out_of_proportion_is_told_in_the_unit_of_its_file() -> None:
    several: Swap = ("gap: .041", "gap: [41, 42]")
    assert "41.000 in is no reading of a transmission" in problems(DRUM, several)[0]
    metric = "length: mm\nunit:\n  families: {ring: {kind: ring, sizes: {A: 150 to 151}}}\n"
    rest = "  packs: {low: {window: 0.5 to 0.9, stack: [ring]}}\nshelf: {}\njob: {}\n"
    assert "150.00 mm is no thickness for a ring" in problems(metric + rest)[0]
    bare = (
        (metric + rest)
        .replace("length: mm\n", "")
        .replace("151", "151 mm")
        .replace("0.9", "0.9 mm")
    )
    assert "is no thickness for a ring" in problems(bare)[0]


def test_a_problem_is_one_line_whatever_the_file_holds() -> None:
    long, folded = "x" * 300, "\n      kind: |\n        fric\n        tion\n      fixed: .0800"
    assert problem(DRUM, ("kind: friction", f"kind: {long}")).startswith(
        f'5: unit.families.friction.kind: found "{"x" * 60}..."; allowed here: steel, friction'
    )
    assert 'found "fric\\u000ation\\u000a"; did you mean "friction"?' in problem(
        DRUM, (" {kind: friction, fixed: .0800}", folded)
    )
    assert "unit.families.a\\u000ab.kind" in problem(
        DRUM, ("    friction:", '    "a\\nb": {kind: x, fixed: .1}\n    friction:')
    )
    assert 'found "rin\\u202eg"' in problem(DRUM, ("kind: ring", "kind: rin\u202eg"))


def test_a_long_list_of_names_is_cut() -> None:
    many = ", ".join(f".0{nth}" for nth in range(400, 460))
    told = problem(
        DRUM, (".0600, .0700", f".0600, .0700, {many}"), (TRIAL, "[thin, thin, thin, x]")
    )
    assert ".0417; write one of them" in told
    fixed = "".join(f"    f{nth}: {{kind: steel, fixed: .1}}\n" for nth in range(30))
    unit: Swap = ("    friction:", f"{fixed}    friction:")
    told = problem(DRUM, ("job:\n", "job:\n  parts: {x: .1}\n"), unit)
    assert told.endswith("f17, f18, and 13 more")


# Files and their paths.


def spread(folder: Path, *swaps: Swap, unit: str = "unit.yaml") -> Path:
    """The drum in three files; the job is returned."""
    head, rest = swapped(DRUM, *swaps).split("shelf:\n")
    lots, job = rest.split("job:\n")
    own = f"length: in\nunit: {unit}\nshelf: shelf.yaml\njob:\n{job}"
    for name, text in (
        ("unit", head),
        ("shelf", f"length: in\nshelf:\n{lots}"),
        ("job", own),
    ):
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    return folder / "job.yaml"


def refused(job: Path, unit: Path | None = None, shelf: Path | None = None) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_case(job, unit, shelf)
    return [str(one).replace(f"{job.parent}", ".") for one in caught.value.problems]


def test_three_files_are_one_case(tmp_path: Path) -> None:
    job, whole = spread(tmp_path), taken(DRUM)
    case = read_case(job)
    assert (case.unit, case.shelf, case.job) == (whole.unit, whole.shelf, whole.job)


def test_a_unit_and_a_shelf_named_outright_go_before_those_of_the_job(tmp_path: Path) -> None:
    job = spread(tmp_path, unit="nowhere.yaml")
    (tmp_path / "shelf.yaml").rename(tmp_path / "other.yaml")
    case = read_case(job, tmp_path / "unit.yaml", tmp_path / "other.yaml")
    assert case.shelf == taken(DRUM).shelf


HOLDS_NONE = (
    "this file holds no unit; write it under the key `unit`, or name the file it stands in: "
    "unit: unit.yaml"
)


@pytest.mark.parametrize(
    ("unit", "told"),
    [
        ("unt.yaml", "./unt.yaml: no such file: did you mean ./unit.yaml?"),
        ("quite/else.yaml", "./quite/else.yaml: no such file: its folder cannot be listed"),
        ("shelf.yaml", f"./shelf.yaml: {HOLDS_NONE}"),
        ("job.yaml", f"./job.yaml: {HOLDS_NONE}"),
        ("ring.yaml", f"./ring.yaml: {HOLDS_NONE}"),
        ("folder", "./folder: is a folder: name a file in it"),
        ("empty.yaml", "./empty.yaml:1: is empty: write at least one 'name: value'"),
        ("12", "./12: no such file: check the name"),
        ("slip.yaml", './slip.yaml:1: unti: found "unti"; did you mean "unit"?'),
    ],
)
def test_a_unit_that_is_not_where_it_is_said_to_be(tmp_path: Path, unit: str, told: str) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "empty.yaml").touch()
    (tmp_path / "ring.yaml").write_text("unit: job.yaml\n", encoding="utf-8")
    (tmp_path / "slip.yaml").write_text("unti: {name: x}\n", encoding="utf-8")
    assert refused(spread(tmp_path, unit=unit)) == [told]


def test_a_list_is_neither_a_unit_nor_the_path_of_one(tmp_path: Path) -> None:
    found = refused(spread(tmp_path, unit="[unit.yaml]"))
    assert found[0] == f"./job.yaml: {HOLDS_NONE}"
    assert "unit: found a list; write a mapping with the keys name, families" in found[1]


def test_a_file_of_no_section_lacks_all_three(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text("length: in\n", encoding="utf-8")
    assert [line.partition(";")[0] for line in refused(tmp_path / "job.yaml")] == [
        f"./job.yaml: this file holds no {section}" for section in ("unit", "shelf", "job")
    ]


def test_a_job_that_holds_nothing_asks_for_its_readings_and_a_shelf_may_be_bare() -> None:
    no_job = DRUM.partition("job:")[0] + "job: {}\n"
    assert problem(no_job) == "16: job: the job holds no readings; write one under `gaps`"
    unit, rest = DRUM.split("shelf:")
    assert taken(f"{unit}shelf: {{}}\njob:{rest.partition('job:')[2]}").shelf == {}


def test_a_path_is_taken_from_the_file_that_names_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = spread(tmp_path)
    monkeypatch.chdir(Path(__file__).parent)
    assert read_case(job).unit.packs


def test_a_shelf_without_a_unit_of_length_names_its_sizes_as_the_unit_file_does(
    tmp_path: Path,
) -> None:
    job = spread(tmp_path)
    shelf = tmp_path / "shelf.yaml"
    bare = shelf.read_text(encoding="utf-8").replace("length: in\n", "")
    shelf.write_text(bare, encoding="utf-8")
    assert read_case(job).shelf["drum ring"]
    shelf.write_text(bare.replace(".0600:", "0.060:"), encoding="utf-8")
    (told,) = refused(job)
    assert 'drum ring.0.060: found "0.060"; the sizes of drum ring are .0600' in told


# All at once.


def test_all_problems_of_a_file_are_told_together_in_the_order_of_its_lines() -> None:
    found = problems(
        DRUM,
        ("fixed: .1000", "fixed: 1e2"),
        ("kind: ring", "kind: rign"),
        (WINDOW, f"{WINDOW}\n      first in: top"),
        ("thick: 5", "thick: five"),
        ("gap: .041", "gpa: .041"),
    )
    assert [line.partition(":")[0] for line in found] == ["4", "8", "12", "15", "19"]
    assert "first in" in found[2]  # what only the whole unit shows, among what one value shows


def test_all_problems_of_three_files_are_told_together(tmp_path: Path) -> None:
    swaps = [("thin: .0690", "thin: .069 inn"), ("thin: 2", "thin: two"), (TRIAL, "{prats: []}")]
    found = refused(spread(tmp_path, *swaps))
    assert [line.partition(" ")[0] for line in found] == [
        "./job.yaml:6:", "./shelf.yaml:3:", "./unit.yaml:6:",
    ]  # fmt: skip


def test_a_shelf_and_a_job_are_held_against_a_right_unit_together() -> None:
    found = problems(DRUM, ("thick: 5", "thik: 5"), (".0600: 1", ".0601: 1"), (TRIAL, "[.0780]"))
    assert [line.split(":")[1].strip() for line in found] == [
        "shelf.drum steel.thik", "shelf.drum ring..0601", "job.gaps.low drum.trial",
    ]  # fmt: skip


def test_twenty_problems_are_told_and_the_rest_counted() -> None:
    many = "".join(f"    ring {nth}: {{kind: rnig, fixed: .07}}\n" for nth in range(23))
    found = problems(DRUM, ("    friction:", f"{many}    friction:"))
    assert len(found) == 21
    assert found[-1] == "and 3 more"
    assert found[0].startswith("5: unit.families.ring 0.kind")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "is empty"),
        ("#" * 10_000_000, "is larger than 2 MB"),
        ("a: &a [x, x]\n" + "".join(f"b{n}: &b{n} [*a, *a]\n" for n in range(9)), "has an anchor"),
        (DRUM.replace("[friction, drum", "[" + "friction, " * 900 + "drum"), "at most 99 places"),
        (DRUM.replace(WINDOW, f"{WINDOW}\n      space: {'9' * 5000} * gap"), "is no length"),
        (DRUM.replace(WINDOW, f'{WINDOW}\n      space: "a{" " * 50_000}b"'), 'found "a b"'),
        (DRUM.replace("kind: ring", f"kind: {'x' * 1_000_000}"), "allowed here"),
        (DRUM.replace("thick: 5", f"thick: [{'{cuont: 1}, ' * 3000}1]"), "and 2980 more"),
        (DRUM.replace("job:\n", "job:\n" + "".join(f"  p{n}: x\n" for n in range(9000))), "8980"),
    ],
    ids=["empty", "large", "bomb", "repeat", "digits", "blanks", "word", "lots", "parts"],
)  # fmt: skip
def test_a_hostile_file_is_refused_quickly(text: str, told: str) -> None:
    begun = time.process_time()
    with pytest.raises(InputError) as caught:
        case_of(parse(text, "drum.yaml"))
    assert told in str(caught.value)
    assert max(map(len, str(caught.value).split("\n"))) < 600
    assert time.process_time() - begun < 5
