"""A unit that comes back: a new job from a closed record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from specs.files.read import read_case

if TYPE_CHECKING:
    from specs.models.case import Case
    from tests.gapwright.bench import Bench

FACTS = "facts: {drum: {values: [deep, shallow], default: deep}}\n  families"
STEELS = "{repeat: 3, of: [friction, drum steel]}, friction"
STACK = f"stack: [apply plate, {STEELS}, drum plate, drum ring]\n"
LAYOUTS = f"""layouts:
        full: {{rank: 0, {STACK.strip()}}}
        bare: {{rank: 1, only if: {{drum: shallow}}, stack: [friction, drum plate, drum ring]}}
"""
BUILT = "gap: .041, as built: {at: .068, parts: [thin 0.0688 in, thick, thick, .0700]}}"


@pytest.fixture
def closed(bench: Bench, drum: str) -> str:
    """The text of a drum's job that was promised, built with a measured steel, and closed."""
    job = bench.write("J-7.yaml", drum)
    assert bench.run("fit", job, "--promise")[0] == 0
    text = (bench.folder / "J-7.yaml").read_text("utf-8")
    bench.write("J-7.yaml", text.replace("gap: .041}", BUILT))
    assert bench.run("close", job)[0] == 0
    return (bench.folder / "J-7.yaml").read_text("utf-8")


def again(bench: Bench, file: str = "J-9.yaml", name: str = "J-7") -> tuple[int, str]:
    words = ("jobs", str(bench.folder), "--again", name, "-o", str(bench.folder / file))
    code, out, err = bench.run(*words)
    return code, (out + err).replace(f"{bench.folder}/", "").replace(str(bench.folder), ".")


def read(bench: Bench, file: str = "J-9.yaml") -> Case:
    return read_case(bench.folder / file)


def test_what_was_built_is_what_is_in_it_now(bench: Bench, closed: str) -> None:
    code, said = again(bench)
    assert (code, said) == (0, "J-9.yaml: written, with what was built in J-7")
    case, earlier = read(bench), read(bench, "J-7.yaml")
    work = case.job.gaps["low drum"]
    assert work.now is not None
    assert work.now.parts == (("thin 0.0688 in",), ("thick",), ("thick",), (".0700",))
    assert case.unit == earlier.unit
    assert case.job.name == "J-9"
    assert earlier.job.closed is not None
    assert case.job.note == f"comeback of J-7, closed on {earlier.job.closed.on}"
    assert not case.job.readings
    assert (work.gap, work.trial, work.as_built) == (None, None, None)
    assert (case.job.promised, case.job.closed) == (None, None)
    assert (bench.folder / "J-7.yaml").read_text("utf-8") == closed
    # Once it is read anew, it is a job like any other.
    text = (bench.folder / "J-9.yaml").read_text("utf-8")
    bench.write("J-9.yaml", text.replace(".0700]}", ".0700], trial: old, gap: .085}"))
    assert bench.run("fit", str(bench.folder / "J-9.yaml"))[0] == 0


def test_facts_layouts_and_the_way_to_the_files_are_kept(bench: Bench, drum: str) -> None:
    (bench.folder / "jobs").mkdir()
    (bench.folder / "new").mkdir()
    unit, shelf, job = (drum.index(name) for name in ("unit:", "shelf:", "job:"))
    text = drum[unit:shelf].replace("families", FACTS, 1).replace(STACK, LAYOUTS)
    bench.write("unit.yaml", f"length: in\n{text}")
    bench.write("shelf.yaml", f"length: in\n{drum[shelf:job]}")
    head = "length: in\nunit: ../unit.yaml\nshelf: ../shelf.yaml\n"
    work = f"{head}{drum[job:]}  facts: {{drum: deep}}\n"
    file = bench.write("jobs/J-7.yaml", work)
    assert bench.run("fit", file, "--promise")[0] == 0
    assert bench.run("close", file)[0] == 0
    folder, new = bench.folder / "jobs", bench.folder / "new" / "J-9.yaml"
    code, _, err = bench.run("jobs", str(folder), "--again", "J-7", "-o", str(new))
    assert (code, err) == (0, "")
    assert new.read_text("utf-8").startswith(head)
    case = read_case(new)
    assert case.job.facts == {"drum": "deep"}
    now = case.job.gaps["low drum"].now
    assert now is not None
    assert (now.layout, now.parts) == ("full", (("thin",), ("thick",), ("thick",), (".0700",)))


def test_the_record_may_be_in_a_ledger(bench: Bench, drum: str) -> None:
    file = bench.write("J-7.yaml", drum)
    bench.shelf("import", file, "--mode", "add")
    shelf = drum[drum.index("shelf:") : drum.index("job:")]
    bench.write("J-7.yaml", drum.replace(shelf, "shelf: shop.db\n"))
    bench.run("fit", file, "--reserve")
    assert "J-7 is not closed yet: gapwright close J-7.yaml" in again(bench)[1]
    assert bench.run("close", file)[0] == 0
    bench.shelf("reserve", "drum ring", ".0780", "--job", "J-8")
    assert 'shop.db: "J-8" is the name of a job there' in again(bench, "J-8.yaml")[1]
    assert again(bench)[0] == 0
    assert read(bench).ledger == bench.address
    assert read(bench).job.gaps["low drum"].now is not None


def test_what_cannot_begin_again_is_refused(bench: Bench, closed: str, drum: str) -> None:
    bench.write("J-8.yaml", drum.replace("J-7", "J-8"))
    assert again(bench, name="J-8")[1] == (
        "J-8.yaml: J-8 is not closed yet: gapwright close J-8.yaml"
    )
    assert again(bench, name="J-77") == (2, '.: found "J-77"; did you mean "J-7"?')
    (bench.folder / "new").mkdir()
    assert again(bench, "new/J-8.yaml")[1] == (
        'J-8.yaml: "J-8" is the name of a job already; give the new one a name of its own'
    )
    assert "J-8.yaml: is there already and is left as it is" in again(bench, "J-8.yaml")[1]
    bench.write("copy.yaml", closed)
    assert '"J-7" is the name of several jobs' in again(bench)[1]
    code, _, err = bench.run("jobs", str(bench.folder), "--again", "J-7")
    assert code == 2
    assert "a unit that comes back: --again J-1042 -o J-1107.yaml" in err
