"""Counts that come from a spreadsheet or a shelf file, and go to one and back."""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gapwright.output.files import put
from gapwright.shelf.import_export import ImportOptions, export_counts, import_counts
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Part, Request
from specs.formats.table import FORMULA
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.values.lengths import LengthUnit
    from tests.gapwright.bench import Bench

ROWS = "family,size,count,thickness,condition,bin,lot\ndrum ring,.0700,2,1.68 mm,used,C1,T-7\n"
TAKEN: dict[str, tuple[int, dict[str, int]]] = {"drum ring .0700 1.68 mm used in C1": (2, {})}
MIXED = """\
bin,lot,note,size,count,family,condition,thickness
C1,T-7,"bought ""dear"",
and late",.0700,2,drum ring,USED,1.68 mm
"""
LINE = "drum ring;.0700;2;{};used;C1;T-7"


def semicolons(head: str, *rows: str) -> str:
    return "\r\n".join([head, *rows]) + "\r\n"


@pytest.mark.parametrize(
    ("written", "options"),
    [
        (ROWS, ()),
        (ROWS.replace("\n", "\r\n"), ()),
        (ROWS.replace("\n", "\r"), ()),
        ("\ufeff" + ROWS, ()),
        ("\n\n" + ROWS + "\n,,,,,,\n", ()),
        (ROWS.replace(",", "\t"), ()),
        (ROWS.replace(",", ";"), ()),
        ("sep=;\r\n" + ROWS.replace(",", ";"), ()),
        (ROWS.replace("family", "Part Family").replace("count", "QTY").replace("lot", "Label"), ()),
        (ROWS.replace("bin", '" Location "').replace("size", '"size"'), ()),
        (ROWS.replace("1.68 mm", "1.68"), ("--lengths", "mm")),
        (ROWS.replace("1.68 mm", "1.68").replace("thickness", "Thickness (mm)"), ()),
        (ROWS.replace("1.68 mm", "1.68").replace("thickness", "thickness_in_mm"), ()),
        (ROWS.replace("1.68 mm", '"1,68"'), ("--lengths", "mm")),
        (ROWS.replace("1.68 mm", '"1,68 mm"'), ()),
        (semicolons("family;size;count;thickness mm;condition;bin;lot".replace(" mm", " [mm]"),
                    LINE.format("1,68")), ()),
        (semicolons("family;size;count;measured;condition;bin;lot", LINE.format("1,68")),
         ("--lengths", "mm")),
        (MIXED, ()),
    ],
)  # fmt: skip
def test_a_spreadsheet_is_read_as_programs_write_it(
    bench: Bench, written: str, options: tuple[str, ...]
) -> None:
    told = bench.shelf("import", bench.write("a.csv", written), "--mode", "add", *options)
    assert told == "shop.db: 1 lot received, 1 new; 2 parts more, 0 fewer"
    assert bench.counts() == TAKEN
    assert bench.entries()[0].movement.part.label == "T-7"


def row(line: str) -> str:
    return f"family,size,count,thickness\ndrum ring,.0600,1,\n{line}\n"


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("", "a.csv: this table is empty; its first line names the columns"),
        ("family,size\n", "a.csv:1: found no column count"),
        ("family,size,qty,bni\n", 'a.csv:1: found "bni"; did you mean "bin"?'),
        ("family,size,count,colour\n", "A column called `note` is left out"),
        ("family,size,count,qty\n", 'a.csv:1: "qty" is a second column of count; keep one'),
        ("family,size,count\n", "a.csv: lists no parts"),
        (row("drum ring,.0700,two,"), 'a.csv:3: count: found "two"; write a whole number'),
        (row("drum ring,.0700,-2,"), 'a.csv:3: count: found "-2"'),
        (row("drum ring,.0700,1.5,"), 'a.csv:3: count: found "1.5"'),
        (row("drum ring,.0700,,"), 'a.csv:3: count: found ""'),
        (row("drum ring,.0700,2000000,"), "a.csv:3: 2000000 to count; write a whole number"),
        (row("drum ring,,2,"), "a.csv:3: a part has a family and a size"),
        (row("drum ring,.0700,2,1.68"), "a.csv:3: thickness: '1.68' has no unit"),
        (row('drum ring,.0700,2,"1,68"'), "--lengths mm for the whole file"),
        (row('drum ring,.0700,2,"1,68 in"'), "taken in millimetres only"),
        (row("drum ring,.0700,2,1,68"), "a.csv:3: found 5 cells; the header names 4 columns: put"),
        (row("drum ring,.0700,2,168 mm"), "a.csv:3: thickness: 168 mm is no thickness"),
        (row("drum ring,.0600,5,"), "a.csv:3: drum ring .0600 is listed in line 2 already"),
        (row('drum ring,".0700,5,'), "a.csv:3: cannot be read as a table"),
        (row('drum ring,"a\nb",5,'), "write it in one line"),
        ("family,size,count,condition\na,b,1,worn\n", 'found "worn"; conditions: new, used'),
        ("family,size,count,reserved\na,b,1,2\n", "2 reserved of 1; no more than there are"),
        ("family,size,count,reserved\na,b,1,1\n", "say for which job they are reserved"),
        ("family,size,count,reserved\na,b,1,{x}\n", 'write {"J-1042": 1}'),
        (ROWS.encode("utf-16"), "a.csv: is UTF-16: save it as CSV in UTF-8"),
        (ROWS.replace("C1", "Fächer").encode("latin-1"), "a.csv:2: holds a character that is not"),
    ],
)  # fmt: skip
def test_a_row_that_cannot_be_taken_is_named(bench: Bench, written: str | bytes, why: str) -> None:
    assert why in bench.refused("import", bench.write("a.csv", written), "--mode", "add")


def test_all_bad_rows_are_told_at_once_and_nothing_is_posted(bench: Bench) -> None:
    rows = "".join(f"ring,{n},{'x' if n % 2 else n}\n" for n in range(1, 101))
    why = bench.refused("import", bench.write("a.csv", f"family,size,count\n{rows}"),
                        "--mode", "add").splitlines()  # fmt: skip
    assert [line.split(": ")[0] for line in why[:3]] == ["a.csv:2", "a.csv:4", "a.csv:6"]
    assert why[-1] == "a.csv: and 30 more"
    assert len(why) == 21


def test_a_dry_run_shows_what_would_change_and_posts_nothing(bench: Bench) -> None:
    bench.shelf("add", "drum ring", ".0600", "4")
    bench.shelf("add", "drum ring", ".0700", "4")
    bench.shelf("add", "drum ring", ".0780", "4")
    rows = "family,size,count\ndrum ring,.0600,4\ndrum ring,.0700,1\nshim,.0100,3\n"
    file, posted = bench.write("a.csv", rows), bench.entries()
    told = bench.shelf("import", file, "--mode", "count", "--dry-run")
    assert told.splitlines() == [
        "drum ring .0700     4 -> 1",
        "shim .0100          0 -> 3  new",
        "shop.db: 3 lots would be counted, 1 new; 3 parts more, 3 fewer",
        "not in the file, and left as it was: 1 lot",
        "nothing was posted: this was a dry run",
    ]
    assert bench.entries() == posted
    bench.shelf("import", file, "--mode", "count")
    assert bench.counts() == {
        "drum ring .0600": (4, {}), "drum ring .0700": (1, {}), "drum ring .0780": (4, {}),
        "shim .0100": (3, {}),
    }  # fmt: skip
    assert bench.entries()[-1].why == "imported a.csv"


@pytest.mark.face
def test_a_delivery_is_added_and_a_recount_sets(bench: Bench) -> None:
    file = bench.write("a.csv", "family,size,count\ndrum ring,.0600,4\nshim,.0100,0\n")
    bench.shelf("import", file, "--mode", "add")
    bench.shelf("import", file, "--mode", "count")
    assert bench.counts() == {"drum ring .0600": (4, {})}
    bench.shelf("import", file, "--mode", "add", "--request", "another box")
    assert bench.counts() == {"drum ring .0600": (8, {})}
    code, _, err = bench.run("shelf", "import", bench.address, file)
    assert code == 2
    assert "--mode" in err


def test_the_same_file_twice_is_one_request(bench: Bench) -> None:
    file = bench.write("a.csv", ROWS)
    bench.shelf("import", file, "--mode", "add")
    posted = bench.entries()
    told = bench.shelf("import", bench.write("b.csv", ROWS), "--mode", "add")
    assert "b.csv was posted before, " in told
    assert "another delivery just like it" in told
    assert bench.json("import", file, "--mode", "add")["posted before"]
    assert bench.entries() == posted


def test_a_key_of_one_s_own_stands_for_one_file(bench: Bench) -> None:
    """Another file under it is refused, not called done; the same is done once."""
    file = bench.write("d.csv", "family,size,count\ndrum ring,.0700,3\n")
    more = bench.write("e.csv", "family,size,count\ndrum ring,.0700,3\ndrum ring,.0780,2\n")
    bench.shelf("import", file, "--mode", "add", "--request", "R-1")
    for other in (("import", more, "--mode", "add"), ("import", file, "--mode", "count")):
        said = bench.refused(*other, "--request", "R-1")
        assert said == (
            'shop.db: "R-1" was posted with other movements; give this request a key of its own'
        )
    assert "before" in bench.shelf("import", file, "--mode", "add", "--request", "R-1")
    assert len(bench.entries()) == 1


def test_a_recount_below_what_is_reserved_names_its_line(bench: Bench) -> None:
    bench.shelf("add", "drum ring", ".0600", "4")
    bench.shelf("reserve", "drum ring", ".0600", "3", "--job", "J-7")
    file = bench.write("a.csv", "family,size,count\nshim,.0100,2\ndrum ring,.0600,2\n")
    assert bench.refused("import", file, "--mode", "count") == (
        "a.csv:3: drum ring .0600: 2 to count, 3 reserved (3 for J-7); release some first"
    )


def test_only_an_empty_shelf_takes_reservations(bench: Bench) -> None:
    rows = 'family,size,count,reserved\ndrum ring,.0600,4,"{""J-7"": 2, ""J-8"": 1}"\n'
    file = bench.write("a.csv", rows)
    told = bench.shelf("import", file, "--mode", "add")
    assert told.endswith("3 parts reserved as the file says")
    assert bench.counts() == {"drum ring .0600": (4, {"J-7": 2, "J-8": 1})}
    told = bench.shelf("import", file, "--mode", "count")
    assert "reserved in the file, and left out: 3 parts; only an empty shelf" in told
    assert bench.counts() == {"drum ring .0600": (4, {"J-7": 2, "J-8": 1})}


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("shelf: {ring: {a: 1, b: x}}", 'a.yaml:1: shelf.ring.b: found "x"'),
        ("shelf: {ring: {a: [1, 2]}}", "a.yaml:1: ring a is listed in line 1 already"),
        ("shelf: {ring: {a: {count: 1, thickness: 1.68}}}", "has no unit"),
        ("shelf: {ring: {a: {count: 1, thickness: 168 mm}}}", "is no thickness for a part"),
        ("shelf: {ring: {a: {count: 1, reserved: 2}}}", "2 reserved of 1"),
        ("shelf: {ring: {a: {count: 1, reserved: 1}}}", "say for which job"),
        ("shelf: {ring: {a: {count: 1, colour: red}}}", "unknown key"),
        ("shelf: other.yaml", "this file holds no shelf"),
        ("unit: {name: x}", "this file holds no shelf"),
        ("shelf: {}", "lists no parts"),
        ("", "is empty"),
    ],
)
def test_a_shelf_file_that_cannot_be_taken_says_where(bench: Bench, written: str, why: str) -> None:
    assert why in bench.refused("import", bench.write("a.yaml", written), "--mode", "add")


def test_a_file_of_neither_kind_or_none_at_all_is_refused(bench: Bench) -> None:
    assert "name a spreadsheet (.csv) or a shelf file (.yaml)" in bench.refused(
        "import", bench.write("a.xlsx", "PK"), "--mode", "add"
    )
    none = str(bench.folder / "none.csv")
    assert "none.csv: no such file: check the name" in bench.refused(
        "import", none, "--mode", "add"
    )
    code, _, err = bench.run("shelf", "export", bench.address, str(bench.folder / "a.pdf"))
    assert (code, "name a spreadsheet" in err) == (2, True)


@pytest.mark.parametrize("name", ["a\nb", "bell\a", "x" * 240, "dr\udcfcm", "\u202e"])
def test_a_file_of_any_name_is_imported(bench: Bench, name: str) -> None:
    bench.shelf("import", bench.write(f"{name}.csv", ROWS), "--mode", "add")
    assert bench.counts() == TAKEN
    assert bench.entries()[0].why.startswith("imported ")


def test_an_import_keeps_to_the_names_of_a_unit(bench: Bench) -> None:
    from tests.gapwright.shelf.test_shelf_commands import UNIT

    unit = bench.write("unit.yaml", UNIT)
    good = bench.write("a.csv", "family,size,count\ndrum ring,.0700,2\ndrum ring,1,3\n")
    bench.shelf("import", good, "--mode", "add", "--unit", unit)
    assert bench.counts() == {"drum ring B": (2, {}), "drum ring A": (3, {})}
    bad = bench.write("b.csv", "family,size,count\ndrum ring,.0700,2\ndrum rnig,A,3\nshim,a,1\n")
    why = bench.refused("import", bad, "--mode", "add", "--unit", unit).splitlines()
    assert why[0] == 'b.csv:3: found "drum rnig"; did you mean "drum ring"?'
    assert why[1].startswith("b.csv:4: ")


def test_what_is_written_is_written_over_nothing(bench: Bench) -> None:
    bench.shelf("add", "drum ring", ".0600", "4")
    there = bench.folder / "a.csv"
    there.write_text("counts of last night")
    for verb, options in (("export", (str(there),)), ("labels", ("-o", str(there)))):
        code, _, err = bench.run("shelf", verb, bench.address, *options)
        assert (code, "is there already and is left as it is" in err) == (2, True)
        assert there.read_text() == "counts of last night"
    bench.shelf("export", str(there), "--replace")
    assert there.read_bytes().startswith("\ufefffamily,size,count".encode())
    code, _, err = bench.run("shelf", "export", bench.address, str(bench.folder / "gone" / "a.csv"))
    assert (code, "cannot be written: No such file" in err) == (2, True)
    assert sorted(path.name for path in bench.folder.iterdir()) == ["a.csv", "shop.db"]


def test_an_export_for_a_unit_leaves_out_what_it_does_not_know(bench: Bench) -> None:
    from tests.gapwright.shelf.test_shelf_commands import UNIT

    bench.shelf("add", "drum ring", ".0600", "4")
    bench.shelf("add", "drum ring", "C", "4")
    bench.shelf("add", "shim", ".0100", "4")
    bench.shelf("add", "drum ring", "B", "4")
    file = bench.folder / "a.yaml"
    told = bench.shelf("export", str(file), "--unit", bench.write("unit.yaml", UNIT))
    assert told.endswith("a.yaml: written; left out, not of this unit: 2 lots")
    assert file.read_text() == "shelf:\n  drum ring: {A: 4, B: 4}\n"


WORD = st.text(
    st.one_of(
        st.sampled_from("ab .;,\t\"'{}[]:#&*!|>%0179-+=@\uff1d\u00fc\u96ea".replace("\t", "")),
        st.characters(codec="utf-8", categories=("L", "N", "P", "S")),
    ),
    max_size=12,
).map(str.strip)  # fmt: skip
NAME = WORD.filter(lambda word: word not in ("", "<<"))
NAMES = st.one_of(NAME, st.sampled_from([f"{sign}1+1" for sign in FORMULA] + ["null", "~", "yes"]))
PARTS = st.builds(
    Part, NAMES, NAMES,
    st.none() | st.integers(20_000, 80_000_000).map(Length)
    | st.integers(8, 30_000).map(lambda n: Length(n * 2540)),
    st.sampled_from(["new", "used"]), WORD, WORD,
)  # fmt: skip
SHELVES = st.dictionaries(
    PARTS, st.tuples(st.integers(1, 40), st.dictionaries(NAMES, st.integers(1, 20), max_size=2)),
    min_size=1, max_size=6,
)  # fmt: skip


ROADS: Counter[str] = Counter()


@settings(max_examples=80, deadline=None)
@given(
    shelf=SHELVES,
    suffix=st.sampled_from([".csv", ".yaml"]),
    lengths=st.sampled_from(["in", "mm", "thou"]),
)
def exported_and_imported(
    shelf: dict[Part, tuple[int, dict[str, int]]], suffix: str, lengths: LengthUnit
) -> None:
    with TemporaryDirectory() as folder:
        one, two, file = f"{folder}/one.db", f"{folder}/two.db", Path(folder) / f"counts{suffix}"
        create_shelf(one)
        create_shelf(two)
        with open_shelf(one) as opened:
            opened.post(Request("k", "mary", "", tuple(stocked(shelf))))
            balances = opened.balances()
        text, _ = export_counts(one, suffix, lengths)
        ROADS.update(roads(shelf, suffix))
        if suffix == ".csv":
            cells = [cell for cells in csv.reader(io.StringIO(text)) for cell in cells]
            assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]
        put(text, file, replace=False)
        import_counts(two, ImportOptions(file, "count"), Author("mary"))
        with open_shelf(two) as opened:
            assert opened.balances() == balances


def stocked(shelf: dict[Part, tuple[int, dict[str, int]]]) -> Iterator[Movement]:
    for part, (number, holders) in shelf.items():
        yield Movement("receive", part, number + sum(holders.values()))
        yield from (Movement("reserve", part, held, job) for job, held in holders.items())


def roads(shelf: dict[Part, tuple[int, dict[str, int]]], suffix: str) -> Iterator[str]:
    yield suffix
    for part, (_, holders) in shelf.items():
        yield from ["held"] * bool(holders)
        yield "measured" if part.thickness else "as sold"
        texts = (part.family, part.size, part.bin, part.label)
        yield from ["formula"] * any(text.startswith(FORMULA[:4]) for text in texts)
        yield from ["quoted"] * any(sign in text for text in texts for sign in ",;\"':")


def test_what_is_exported_imports_to_the_same_shelf() -> None:
    exported_and_imported()
    for road in (".csv", ".yaml", "held", "measured", "as sold", "formula", "quoted"):
        assert ROADS[road] >= 20, ROADS


def test_the_exported_shelf_file_serves_a_solve_as_the_ledger_does(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", drum)
    bench.shelf("import", job, "--mode", "add", "--unit", job)
    bench.shelf("reserve", "drum ring", ".0600", "--job", "J-7")
    bench.shelf("reserve", "drum ring", ".0780", "--job", "J-9")
    file = str(bench.folder / "shelf.yaml")
    bench.shelf("export", file)
    from_file = bench.run("fit", job, "--shelf", file)
    assert from_file[0] == 0
    assert from_file == bench.run("fit", job, "--shelf", bench.address)
