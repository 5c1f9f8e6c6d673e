"""Former units as a person meets them: a reading doubted first, what was built in like rooms."""

from __future__ import annotations

import json
from collections import Counter
from functools import partial
from html import unescape
from random import Random
from typing import TYPE_CHECKING

import pytest
from fastapi.testclient import TestClient

from gapwright.fit.service import fit_case, fit_job
from gapwright.record.former_findings import former_findings
from gapwright.record.former_units import Records, former_units
from gapwright.web.start import open_shop
from inventory import open_shelf
from inventory.movements import Note, Request
from specs.files.read import read_case
from specs.gaps.job_gap import JobGap
from tests.amounts import few
from tests.commands import ran
from tests.gapwright.web.test_serve_plan import planned
from tests.oracles.brute_files import own_space

if TYPE_CHECKING:
    import subprocess
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Alder 3
  facts: {drum: {values: [deep, shallow], default: deep}}
  families:
    disc: {kind: friction, fixed: .0800}
    steel: {kind: steel, sizes: {thick: .0900, thin: .0700}}
    ring: {kind: ring, sizes: {A: .0600, B: .0700, C: .0780}}
  packs:
    low: {window: .010 to .024, stack: [disc, steel, disc, steel, ring]}
    drive:
      window: .010 to .024
      space: depth
      readings: {depth: {what: depth}}
      layouts:
        one: {rank: 0, stack: [disc, steel, ring]}
        two: {rank: 1, only if: {drum: [deep]}, stack: [disc, steel, disc, ring]}
shelf: {steel: {thick: 40, thin: 40}, ring: {A: 20, B: 20, C: 20}}
"""
HEAD = "length: in\nunit: unit.yaml\nshelf: SHELF\njob:\n  name: NAME\n"
GAP = "  gaps: {low: {trial: [thick, thick, A], gap: AT}MORE}\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (tmp_path / "jobs").mkdir()
    return tmp_path


def keep(
    shop: Path, name: str, at: str, *, built: str = "", shelf: str = "unit.yaml", more: str = ""
) -> Path:
    """Keep a job in a file of its name, beside the others."""
    text = HEAD.replace("NAME", name).replace("SHELF", f"../{shelf}").replace(
        "unit: unit", "unit: ../unit"
    ) + GAP.replace("AT", at + (f", as built: {{at: .015, parts: {built}}}" if built else ""))
    path = shop / "jobs" / f"{name}.yaml"
    path.write_text(text.replace("MORE", more), encoding="utf-8")
    return path


def kept(shop: Path, count: int = 24) -> None:
    """So many former units whose rooms go from .414 to .419 in and back."""
    for nth in range(count):
        built = "[thin, thick, B]" if nth % 3 else "[thick, thick, A]"
        keep(shop, f"K-{nth}", f".01{4 + nth % 6}", built=built)


def fit(shop: Path, job: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return ran("fit", str(job), *more, cwd=shop)


DOUBT = (
    "DOUBT THE READING of low (room 0.428 in): roomier than each of 24 drums of this unit, "
    "by 0.009 in"
)


@pytest.mark.face
def test_a_reading_far_from_former_units_is_doubted_before_any_part_is_named(shop: Path) -> None:
    kept(shop)
    job = keep(shop, "J-1", ".028")
    told = fit(shop, job, "--history", "jobs")
    assert told.returncode == 0, told.stderr  # as it was: the answer still comes
    lines = told.stdout.splitlines()
    assert lines[0].endswith("FITS, proved best; DOUBT THE READING of low")
    assert lines[1].startswith(DOUBT)
    assert " deviations of 0.0017 in from their middle" in lines[1]
    assert lines[2] == "  first measure one lining"
    lining = "each lining 0.0045 in thinner than its file says: `gap` would then be 0.019 in"
    assert f"  - {lining}" in lines
    assert lines.index("") == 5
    assert lines.index("take") > lines.index("")
    assert "former units: 24 in jobs" in lines
    near = fit(shop, keep(shop, "J-1", ".019"), "--history", "jobs")
    assert "DOUBT" not in near.stdout


def test_without_a_history_nothing_is_said_and_too_few_doubt_nothing(shop: Path) -> None:
    kept(shop, 19)
    job = keep(shop, "J-1", ".060")
    alone = fit(shop, job)
    assert "DOUBT" not in alone.stdout
    assert "former units" not in alone.stdout
    told = fit(shop, job, "--history", "jobs").stdout
    assert "DOUBT" not in told
    assert "former units: 19 in jobs, too few to hold a reading against (20)\n" in told
    keep(shop, "K-19", ".014")
    assert "DOUBT THE READING of low" in fit(shop, job, "--history", "jobs").stdout


def test_the_unit_s_own_spaces_speak_without_a_history(shop: Path) -> None:
    text = UNIT.replace("low: {", "low: {spaces: {normal: .4165, deviation: .002}, ")
    (shop / "unit.yaml").write_text(text, encoding="utf-8")
    told = fit(shop, keep(shop, "J-1", ".028"))
    words = "roomier by 5.8 deviations of 0.002 in than the unit file's 0.4165 in"
    assert f"DOUBT THE READING of low (room 0.428 in): {words}\n" in told.stdout
    assert "DOUBT" not in fit(shop, keep(shop, "J-1", ".024")).stdout
    (shop / "unit.yaml").write_text(
        text.replace("{normal: .4165, deviation: .002}", "{uniform: .410 to .420}"),
        encoding="utf-8",
    )
    told = fit(shop, keep(shop, "J-1", ".028"))
    assert "roomier than the unit file allows (0.410 to 0.420 in), by 0.008 in\n" in told.stdout


def test_nothing_fits_and_the_reading_is_doubted_first(shop: Path) -> None:
    kept(shop)
    told = fit(shop, keep(shop, "J-1", ".300"), "--history", "jobs")
    assert told.returncode == 3
    lines = told.stdout.splitlines()
    assert lines[0].endswith("NO FIT, proved; DOUBT THE READING of low")
    assert lines[1].startswith("DOUBT THE READING of low (room 0.700 in): roomier than each of 24")
    assert lines.index("No build from what is on hand lands every gap in its window.") > 2
    narrow = UNIT.replace("low: {window: .010 to .024", "low: {window: .0001 to .0002")
    (shop / "unit.yaml").write_text(narrow, encoding="utf-8")
    told = fit(shop, keep(shop, "J-1", ".0165"), "--history", "jobs")
    assert told.returncode == 3
    assert "    before, in 16 drums within 0.002 in of this room: thin thick B (12)" in told.stdout
    unread = fit(shop, keep(shop, "J-1", "0"), "--history", "jobs")
    assert "DOUBT" not in unread.stdout


def test_what_was_built_in_like_rooms_stands_beside_the_answer(shop: Path) -> None:
    kept(shop)
    job = keep(shop, "J-1", ".0165", built="[thin, thin, C]")
    line = (
        "  before, in 16 drums within 0.002 in of this room: thin thick B (12), thick thick A (4)"
    )
    told = fit(shop, job, "--history", "jobs").stdout
    assert line in told.splitlines()
    found = json.loads(fit(shop, job, "--history", "jobs", "--json").stdout)["former units"]
    assert (found["where"], found["drums"], found["doubted"]) == ("jobs", 24, [])
    (like,) = found["like rooms"]
    assert (like["gap"], like["drums"], like["within"]["shown"]) == ("low", 16, "0.002 in")
    assert [(one["parts"], one["drums"]) for one in like["builds"]] == [
        ([["thin"], ["thick"], ["B"]], 12),
        ([["thick"], ["thick"], ["A"]], 4),
    ]


def test_a_promise_counts_as_what_was_built_where_nothing_else_is_written(shop: Path) -> None:
    job = keep(shop, "K-1", ".015")
    assert fit(shop, job, "--promise").returncode == 0
    other = keep(shop, "J-1", ".016")
    promised = json.loads(fit(shop, job, "--json").stdout)["promised"]["gaps"]["low"]["parts"]
    line = f"before, in 1 drum within 0.002 in of this room: {' '.join(promised)} (1)"
    assert line in fit(shop, other, "--history", "jobs").stdout


def ledger(shop: Path) -> None:
    ran("shelf", "init", "shop.db", cwd=shop)
    for size in ("A", "B", "C"):
        ran("shelf", "add", "shop.db", "ring", size, "40", "--unit", "unit.yaml", cwd=shop)
    for size in ("thick", "thin"):
        ran("shelf", "add", "shop.db", "steel", size, "80", "--unit", "unit.yaml", cwd=shop)


def test_the_promises_of_a_ledger_speak_without_being_named(shop: Path) -> None:
    ledger(shop)
    for nth in range(21):
        job = keep(shop, f"K-{nth}", f".01{4 + nth % 6}", shelf="shop.db")
        kept_ = ran("fit", str(job), "--promise", "--who", "JM", cwd=shop)
        assert kept_.returncode == 0, kept_.stderr
        job.unlink()
    job = keep(shop, "J-1", ".030", shelf="shop.db")
    told = fit(shop, job).stdout
    assert "DOUBT THE READING of low (room 0.430 in): roomier than each of 21 drums" in told
    assert "former units: 21 in " in told
    near = fit(shop, keep(shop, "J-1", ".0155", shelf="shop.db")).stdout
    assert "before, in 15 drums within 0.002 in of this room: " in near
    # its own promise is no former unit of a job
    again = fit(shop, keep(shop, "K-3", ".030", shelf="shop.db")).stdout
    assert "roomier than each of 20 drums of this unit" in again
    other = UNIT.replace("Alder 3", "Birch 5")
    (shop / "unit.yaml").write_text(other, encoding="utf-8")
    assert "DOUBT" not in fit(shop, keep(shop, "J-1", ".030", shelf="shop.db")).stdout
    (shop / "unit.yaml").write_text(UNIT, encoding="utf-8")
    plain = keep(shop, "J-2", ".030")
    named = fit(shop, plain, "--history", "shop.db").stdout
    assert "roomier than each of 21 drums of this unit" in named
    both = keep(shop, "J-1", ".030", shelf="shop.db")
    keep(shop, "K-0", ".014", shelf="shop.db")  # of a name that the ledger has: one drum
    assert "former units: 22 in jobs, " in fit(shop, both, "--history", "jobs").stdout


def test_a_note_that_cannot_be_read_is_named_and_the_others_count(shop: Path) -> None:
    ledger(shop)
    job = keep(shop, "K-1", ".015", shelf="shop.db")
    ran("fit", str(job), "--promise", "--who", "JM", cwd=shop)
    with open_shelf(shop / "shop.db") as shelf:
        shelf.post(Request("k", "JM", "by hand", (), (Note("promise", "K-2", "none"),)))
    found = former_units(shop / "shop.db", read_case(job))
    assert [one.job for one in found.units] == ["K-1"]
    assert [(one.job, one.problem.sentence) for one in found.uncounted] == [
        ("K-2", "a note holds no promise")
    ]


@pytest.mark.parametrize(
    "words",
    [
        ("cover", "unit.yaml", "--gap", "low"),
        ("stock", "kit", "unit.yaml", "--share", "40"),
    ],
    ids=" ".join,
)
def test_a_ledger_is_a_history_of_spaces(shop: Path, words: tuple[str, ...]) -> None:
    ledger(shop)
    for nth in range(3):
        job = keep(shop, f"K-{nth}", f".01{4 + nth}", shelf="shop.db")
        ran("fit", str(job), "--promise", "--who", "JM", cwd=shop)
    found = json.loads(ran(*words, "--history", "shop.db", "--json", cwd=shop).stdout)
    drums = found["covers"][0]["history"]["drums"] if words[0] == "cover" else found["drums"]
    assert drums == 3


def test_a_table_of_past_drums_is_a_history_of_rooms(shop: Path) -> None:
    rooms = "".join(f".41{4 + nth % 6},2\n" for nth in range(12))
    (shop / "past.csv").write_text(f"low,count\n{rooms}", encoding="utf-8")
    told = fit(shop, keep(shop, "J-1", ".028"), "--history", "past.csv").stdout
    assert DOUBT in told
    assert "former units: 24 in past.csv\n" in told
    gone = fit(shop, keep(shop, "J-1", ".028"), "--history", "past.cvs")
    assert gone.returncode == 2
    assert "did you mean past.csv?" in gone.stderr


def test_a_plan_doubts_the_readings_of_each_of_its_jobs(shop: Path) -> None:
    kept(shop)
    (shop / "week").mkdir()
    for name, at in (("J-1", ".028"), ("J-2", ".300"), ("J-3", ".016")):
        job = keep(shop, name, at)
        job.rename(shop / "week" / job.name)
    names = ["week"]
    told = ran("batch", *names, "--history", "jobs", cwd=shop)
    assert told.returncode == 3, told.stderr
    lines = told.stdout.splitlines()
    assert "  DOUBT THE READINGS of J-1 (low), J-2 (low)" in lines
    assert any(line.startswith(f"  {DOUBT[:40]}") for line in lines)
    assert lines.count("  former units: 24 in jobs") == 1
    assert "    before, in 20 drums within 0.002 in of this room: " in told.stdout
    jobs = json.loads(ran("batch", *names, "--history", "jobs", "--json", cwd=shop).stdout)["jobs"]
    assert [len(one["former units"]["doubted"]) for one in jobs] == [1, 1, 0]


def test_the_page_holds_readings_against_the_jobs_of_its_folder(shop: Path) -> None:
    kept(shop)
    keep(shop, "J-1", ".028")
    keep(shop, "J-2", ".0165")
    (shop / "jobs" / "broken.yaml").write_text("job: [\n", encoding="utf-8")
    app, _ = open_shop(shop)
    with TestClient(app, base_url="http://localhost") as client:
        text = unescape(client.get("/fit?from=jobs/J-1.yaml").text)
        assert text.index("DOUBT THE READING of low (room 0.428 in)") < text.index('<h2 id="take">')
        assert "roomier than each of 25 drums of this unit, by 0.009 in" in text
        assert "broken.yaml: jobs/broken.yaml:1: " in text
        near = unescape(client.get("/fit?from=jobs/J-2.yaml").text)
        assert "DOUBT" not in near
        assert "before, in 16 drums within 0.002 in of this room: " in near
        sheet = unescape(client.get("/sheet?from=jobs/J-1.yaml").text)
        assert "DOUBT THE READING of low (room 0.428 in)" in sheet


def test_a_plan_on_the_page_and_a_kit_s_job_doubt_too(shop: Path) -> None:
    kept(shop)
    keep(shop, "J-1", ".028")
    app, _ = open_shop(shop)
    with TestClient(app, base_url="http://localhost") as client:
        answer = planned(client, job=["jobs/J-1.yaml"])
        assert "DOUBT THE READINGS of J-1 (low)" in unescape(answer.text)
    spread = UNIT.replace("low: {", "low: {spaces: {uniform: .410 to .420}, ")
    (shop / "unit.yaml").write_text(spread, encoding="utf-8")
    kit = "unit: unit.yaml\nkit: {contents: {steel: {thick: 3, thin: 3}, ring: {A: 2, C: 1}}}\n"
    (shop / "kit.yaml").write_text(kit, encoding="utf-8")
    told = ran("kit", "check", "kit.yaml", "--job", "jobs/J-1.yaml", cwd=shop)
    assert "DOUBT THE READING of low (room 0.428 in): roomier than the unit file" in told.stdout


def test_a_script_names_a_history_too(shop: Path) -> None:
    kept(shop)
    job = keep(shop, "J-1", ".028")
    report = fit_job(job, history=shop / "jobs")
    assert [far.gap for far in report.former.far] == ["low"]
    assert fit_job(job).former.far == ()
    sure = fit_case(read_case(job), records=Records(lambda case: former_units(shop / "jobs", case)))
    assert [far.gap for far in sure.former.far] == ["low"]


DRAWN = "low: {trial: [thick, thick, A], readings: {gap: .01AT}BUILT}"


def drawn(draw: Random) -> str:
    """The gaps and facts of a job at random."""
    built = draw.choice(["", "[thin, thick, B]", "[thick, thick, A]"])
    low = DRAWN.replace("AT", str(draw.randint(0, 9)))
    low = low.replace("BUILT", f", as built: {{at: .015, parts: {built}}}" if built else "")
    shallow = draw.random() < 0.4
    layout = "one" if shallow else draw.choice(["one", "two"])
    depth = f"{{layout: {layout}, readings: {{depth: .24{draw.randint(0, 9)}}}}}"
    gaps = f"{low}, drive: {depth}" if draw.random() < 0.7 else low
    return "  facts: {drum: shallow}\n" * shallow + f"  gaps: {{{gaps}}}\n"


@pytest.mark.parametrize("seed", few(range(60)))
def test_like_rooms_are_those_a_person_would_count(shop: Path, seed: int) -> None:
    """Rooms and builds counted once more from the files alone, layout by layout."""
    draw = Random(seed)  # noqa: S311 - for a test
    head = HEAD.replace("SHELF", "unit.yaml").replace("unit.yaml", "../unit.yaml")
    for nth in range(1, 25):
        text = head.replace("NAME", f"K-{nth}") + drawn(draw)
        (shop / "jobs" / f"K-{nth}.yaml").write_text(text, encoding="utf-8")
    own = shop / "jobs" / "K-0.yaml"
    low = DRAWN.replace("AT", "5").replace("BUILT", "")
    gaps = f"  gaps: {{{low}, drive: {{readings: {{depth: .245}}}}}}\n"
    own.write_text(head.replace("NAME", "K-0") + gaps, encoding="utf-8")
    case = read_case(own)
    others = [read_case(shop / "jobs" / f"K-{nth}.yaml") for nth in range(1, 25)]
    records = Records(partial(former_units, shop / "jobs"))
    like = former_findings(case, ("low", "drive"), records).like_of("low")
    wanted: Counter[object] = Counter()
    for other in others:
        built = other.job.gaps["low"].as_built
        away = own_space(other, "low", "stack") - own_space(case, "low", "stack")
        if built and abs(away) <= 50_800:
            wanted[built.parts] += 1
    assert ({build.parts: number for build, number in like.builds} if like else {}) == wanted
    whole = former_units(shop / "jobs", case).without(case)
    read = [own_space(other, "drive", "one") for other in others if "drive" in other.job.gaps]
    for layout in ("one", "two"):
        rooms = whole.rooms(JobGap(case, "drive"), layout)
        assert sorted(room.nm for room in rooms.elements()) == sorted(read)
