"""The promise of a job: what it holds, that it is kept whole, and what is said against it later."""

from __future__ import annotations

import json
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest

import gapwright.fit.service
from gapwright.fit.service import fit_case
from gapwright.record.promise import promise_of
from solver import Fit
from specs.errors import InputError
from specs.files.job_table import read_job_table
from specs.files.read import case_of, read_case
from specs.formats.yaml import parse
from specs.models.job import Parts
from specs.models.record import plain
from tests.amounts import few, share
from tests.oracles.brute_files import fixed_in, listed, own_space
from tests.oracles.random_jobs import random_job

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.fit.report import Report
    from specs.models.case import Case
    from specs.models.record import PromisedGap
    from tests.gapwright.bench import Bench
    from tests.gapwright.conftest import Solve

DAY = "2031-04-02"
OTHER = ("gap: .041", "gap: .051")
"""Three thick steels and the thin ring, in place of one thin steel and the middle one."""


@pytest.fixture(autouse=True)
def _that_day(monkeypatch: pytest.MonkeyPatch) -> None:
    class Day:
        def isoformat(self) -> str:
            return DAY

    monkeypatch.setattr(gapwright.fit.service, "today", Day)


def changed(bench: Bench, *swaps: tuple[str, str]) -> str:
    """The job's file with other figures."""
    text = (bench.folder / "job.yaml").read_text()
    for old, new in swaps:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return bench.write("job.yaml", text)


def promise_lines(out: str) -> list[str]:
    """What is said of a promise, and all that is indented below it."""
    lines = out.splitlines()
    start = next((nth for nth, line in enumerate(lines) if "promised" in line), len(lines))
    return [line for line in lines[start:] if line.startswith(" ") or "promised" in line]


def height(case: Case, name: str, gap: PromisedGap) -> Fraction:
    """The height of a promised build, worked out from its parts as they are written."""
    parts = Parts.model_construct(parts=gap.parts, layout=gap.layout)
    build, total = listed(case, name, parts), Fraction(0)
    assert build is not None
    layout = case.unit.gaps[name].arrangements[gap.layout]
    for label, place in zip(layout.labels, layout.stack, strict=True):
        chosen = [part.thickness for part in build.parts.get(label, ())]
        fixed = [] if label in build.parts else [fixed_in(case, place.part)]
        total += place.factor * sum((length.nm for length in (*chosen, *fixed)), Fraction(0))
    return total * layout.sign


def test_the_promise_of_random_jobs_measures_what_its_parts_say() -> None:
    fits = 0
    for seed in few(range(600)):
        case = random_job(seed).case()
        try:
            report = fit_case(case)
        except InputError:  # the job's facts allow no layout
            continue
        if not isinstance(report.answer, Fit):
            continue
        fits += 1
        promised = promise_of(report, DAY)
        taken: Counter[str] = Counter()
        for name, gap in promised.gaps.items():
            assert gap.space.nm == own_space(case, name, gap.layout), seed
            assert gap.gap.nm == gap.space.nm - height(case, name, gap), seed
            assert 0 <= gap.sure <= 100
        assert {*promised.gaps} == {*report.solved}
        for one in promised.takes:
            taken[f"{one.family} {one.size}"] += one.count
        on_shelf: Counter[str] = Counter()
        for family, sizes in case.shelf.items():
            for size, lots in sizes.items():
                on_shelf[f"{family} {size}"] += sum(lot.count for lot in lots)
        assert not taken - on_shelf, seed
    assert fits >= share(150)


def test_a_promise_says_what_is_built_and_what_is_fetched(solve: Solve, drum: str) -> None:
    report = solve(drum)
    promised = promise_of(report, DAY)
    (gap,) = promised.gaps.values()
    assert plain(promised, "in") == {
        "on": DAY,
        "job": "J-7",
        "unit": "Harrow 4",
        "answer": promised.code,
        "from": promised.from_,
        "gaps": {
            "low drum": {
                "layout": gap.layout,
                "parts": ["thin", "thick", "thick", ".0700"],
                "gap": "0.068 in",
                "u": "0.0016 in",
                "sure": plain(promised, "mm")["gaps"]["low drum"]["sure"],
                "space": "0.993 in",
            }
        },
        "takes": [
            {"family": "drum steel", "size": "thick", "bin": "B2", "count": 2},
            {"family": "drum steel", "size": "thin", "bin": "B3", "count": 1},
            {"family": "drum ring", "size": ".0700", "bin": "C1", "count": 1},
        ],
    }


def test_what_is_the_units_own_is_not_taken_from_the_shelf(solve: Solve, drum: str) -> None:
    own = drum.replace("gap: .041}", "gap: .041, trial parts: of this unit}")
    takes = promise_of(solve(own), DAY).takes
    assert [(one.family, one.size, one.count) for one in takes] == [
        ("drum steel", "thin", 1),
        ("drum ring", ".0700", 1),
    ]


def test_what_was_measured_is_promised_with_its_thickness(solve: Solve, drum: str) -> None:
    text = drum.replace("{count: 2, bin: B3}", "{count: 2, bin: B3, thickness: .0684, lot: T-7}")
    promised = promise_of(solve(text), DAY)
    assert promised.gaps["low drum"].parts[0] == ("thin 0.0684 in",)
    (thin,) = [one for one in promised.takes if one.size == "thin"]
    assert (thin.lot, str(thin.thickness and thin.thickness.nm)) == ("T-7", "1737360")


def test_what_was_measured_in_the_trial_build_is_taken_as_the_shelf_lists_it(
    bench: Bench, drum: str
) -> None:
    job = bench.write("job.yaml", drum.replace("trial: [thick,", "trial: [thick .0877,"))
    told = json.loads(bench.run("fit", job, "--promise", "--json")[1])["promised"]
    assert "thick 0.0877 in" in told["gaps"]["low drum"]["parts"]
    assert [(one["size"], one["count"], one.get("thickness")) for one in told["takes"]] == [
        ("thick", 2, None),
        ("thin", 1, None),
        (".0700", 1, None),
    ]
    (planned,) = json.loads(bench.run("batch", job, "--json")[1])["jobs"]
    assert planned["promised"]["takes"] == told["takes"]
    (listed_job,) = json.loads(bench.run("jobs", job, "--json")[1])["jobs"]
    assert listed_job["state"] == "chosen"


@pytest.mark.face
def test_a_promise_is_kept_in_the_jobs_file_and_all_else_stays(bench: Bench, drum: str) -> None:
    text = f"# mine\n{drum}# the end\n".replace("job:\n", "job:  # towed in\n")
    text = text.replace("\n", "\r\n")
    job = bench.write("job.yaml", text)
    code, out, err = bench.run("fit", job, "--promise")
    assert (code, err) == (0, "")
    kept = (bench.folder / "job.yaml").read_bytes().decode()
    end = "# the end\r\n"
    assert kept.startswith(text.removesuffix(end))
    assert kept.endswith(f"\r\n{end}")
    assert "\n" not in kept.replace("\r\n", "")
    promised = read_case(bench.folder / "job.yaml").job.promised
    assert promised is not None
    assert (promised.on, promised.answer) == (DAY, promised.code)
    assert promise_lines(out) == [f"promised, kept in job.yaml: {promised.answer}"]


def test_nothing_is_kept_unless_asked(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", drum)
    assert promise_lines(bench.run("fit", job)[1]) == []
    assert (bench.folder / "job.yaml").read_text() == drum


def test_the_same_answer_is_as_promised_and_keeps_its_day(
    bench: Bench, drum: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    kept = (bench.folder / "job.yaml").read_bytes()
    monkeypatch.setattr(f"{__name__}.DAY", "2031-04-09")
    for asked in ((), ("--promise",)):
        code, out, _ = bench.run("fit", job, *asked)
        (line,) = promise_lines(out)
        assert line.startswith("as promised on 2031-04-02 (")
        assert code == 0
    assert (bench.folder / "job.yaml").read_bytes() == kept


def test_another_answer_says_what_changed_and_is_kept_only_when_asked(
    bench: Bench, drum: str
) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    first = read_case(bench.folder / "job.yaml").job.promised
    assert first is not None
    changed(bench, OTHER)
    before = (bench.folder / "job.yaml").read_bytes()
    told = [
        f"not as promised on {DAY} ({first.answer}):",
        "  low drum: 0.068 in then, 0.069 in now",
        "    out: 1 x drum steel thin, 1 x drum ring .0700",
        "    in: 1 x drum steel thick, 1 x drum ring .0600",
    ]
    assert promise_lines(bench.run("fit", job)[1]) == told
    assert (bench.folder / "job.yaml").read_bytes() == before
    out = bench.run("fit", job, "--promise")[1]
    second = read_case(bench.folder / "job.yaml").job.promised
    assert second is not None
    anew = f"promised anew, kept in job.yaml: {second.answer}"
    assert promise_lines(out) == [*told, anew]
    assert promise_lines(bench.run("fit", job)[1]) == [f"as promised on {DAY} ({second.answer})"]


def test_the_same_build_of_another_reading_is_told_by_its_figure(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    changed(bench, ("gap: .041", "gap: .0411"))
    _, line = promise_lines(bench.run("fit", job)[1])
    assert line == "  low drum: 0.068 in then, 0.0681 in now"
    changed(bench, ("gap: .0411", "gap: [.041, .041, .04101]"))
    _, line = promise_lines(bench.run("fit", job)[1])
    assert line == "  low drum: 0.068 in then, 0.20401/3 in now"


def test_a_note_changes_what_it_was_made_from_and_not_what_was_promised(
    bench: Bench, drum: str
) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    changed(bench, ("  name: J-7\n", "  name: J-7\n  note: towed in\n"))
    (line,) = promise_lines(bench.run("fit", job)[1])
    assert line.endswith("; unit or job were changed since")


def test_where_nothing_fits_nothing_is_promised_and_what_was_stands(
    bench: Bench, drum: str
) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    changed(bench, ("gap: .041", "gap: .001"))
    before = (bench.folder / "job.yaml").read_bytes()
    code, out, err = bench.run("fit", job, "--promise")
    assert (code, err) == (3, "")
    first, second = promise_lines(out)
    assert first.startswith(f"promised on {DAY} (")
    assert (first.endswith(", and it stands:"), second) == (True, "  low drum: 0.068 in")
    assert (bench.folder / "job.yaml").read_bytes() == before


def test_a_promise_edited_by_hand_is_told_with_its_line(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", drum)
    bench.run("fit", job, "--promise")
    changed(bench, ("gap: 0.068 in", "gap: 0.069 in"))
    for verb in ("fit", "check"):
        code, out, err = bench.run(verb, job)
        assert (code, out) == (2, "")
        assert err.startswith("job.yaml:28: job.promised.answer: found ")
        assert "what stands here was changed by hand" in err


def test_a_file_that_somebody_changed_meanwhile_is_left_as_it_is(
    bench: Bench, drum: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = bench.write("job.yaml", drum)
    solved, theirs = fit_case, drum.replace("gap: .041", "gap: .042")

    def meanwhile(*asked: Any, **further: Any) -> Report:  # noqa: ANN401
        bench.write("job.yaml", theirs)
        return solved(*asked, **further)

    monkeypatch.setattr(gapwright.fit.service, "fit_case", meanwhile)
    code, out, err = bench.run("fit", job, "--promise")
    assert (code, out) == (2, "")
    assert err == "job.yaml: was changed since it was read, and nothing is written: try again"
    assert (bench.folder / "job.yaml").read_text() == theirs


def test_a_closed_job_is_promised_nothing_more(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", f"{drum}  closed: {{on: 2031-04-01, by: JM, record: A}}\n")
    code, out, err = bench.run("fit", job, "--promise")
    assert (code, out) == (2, "")
    assert err.startswith("job.yaml:24: job.closed: the job was closed on 2031-04-01")


def test_a_row_of_a_table_has_no_file_to_keep_a_promise_in(tmp_path: Path, drum: str) -> None:
    (tmp_path / "unit.yaml").write_text(drum)
    (tmp_path / "jobs.csv").write_text(
        "job;low drum / trial;low drum / gap;length\nJ-1;thick thick thick .0780;.041;in\n"
    )
    (source,) = read_job_table(tmp_path / "jobs.csv")
    case = case_of(source, tmp_path / "unit.yaml", tmp_path / "unit.yaml")
    with pytest.raises(InputError, match=r"jobs\.csv:2: .*a row of a table keeps no promise"):
        gapwright.fit.service.fit_promised(case)


def test_the_json_of_a_promise_is_the_section_of_a_job_file(bench: Bench, drum: str) -> None:
    job = bench.write("job.yaml", drum)
    told = json.loads(bench.run("fit", job, "--promise", "--json")[1])
    assert (told["promise kept"], told["not as promised"]) == (True, [])
    case = case_of(parse(f"{drum}  promised: {json.dumps(told['promised'])}\n", "job.yaml"))
    assert case.job.promised == read_case(bench.folder / "job.yaml").job.promised
    changed(bench, OTHER)
    again = json.loads(bench.run("fit", job, "--json")[1])
    assert again["promise kept"] is False
    assert again["promised"] == told["promised"]
    (one,) = again["not as promised"]
    assert one["out"] == [
        {"part": "drum steel thin", "count": 1},
        {"part": "drum ring .0700", "count": 1},
    ]
    assert [one[key]["shown"] for key in ("promised", "now")] == ["0.068 in", "0.069 in"]
