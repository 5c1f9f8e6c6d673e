"""A shelf for a period as a person meets it: words, JSON, the ledger, exit codes, refusals."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gapwright.record.former_units import former_units
from gapwright.stock.past_drums import past_of
from specs.files.read import read_unit_alone
from specs.uncertainty.confidence import counted, ratio, student
from specs.values.lengths import Length
from tests.commands import ran

if TYPE_CHECKING:
    import subprocess
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Harrow 4
  families:
    friction: {kind: friction, fixed: .0800}
    drum ring:
      kind: ring
      sizes:
        A: {thickness: .0600, price: 3.40}
        B: {thickness: .0700, price: 3.00, sold in: 2}
  packs:
    low drum: {window: .010 to .018, stack: [friction, drum ring]}
  end plays:
    front play: {window: .005 to .015, space: gap, stack: [drum ring]}
"""
PAST = "low drum,count\n.156,5\n.166,3\n.154,2\n"
CLOSE = "low drum,count\n.156,5\n.166,3\n.160,2\n"
"""Of ring B .160 leaves .010, the lowest gap; of no other ring a gap in the window."""
FILES = ("unit.yaml", "--history", "past.csv", "--jobs", "3", "--lead-time", "0")
THOU = 25_400
QUICK = ("--scenarios", "60", "--weeks", "800")
QUICKER = ("--scenarios", "40", "--weeks", "400")


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (tmp_path / "past.csv").write_text(PAST, encoding="utf-8")
    return tmp_path


def shelf(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return ran("stock", "shelf", *FILES, *arguments, cwd=cwd)


@pytest.mark.face
def test_the_shelf_is_told_with_what_it_promises(bench: Path) -> None:
    told = shelf(*QUICK, "--workers", "1", cwd=bench)
    assert told.returncode == 0, told.stderr
    lines = told.stdout.splitlines()
    assert lines[0].startswith("SHELF for low drum: ")
    assert lines[1] == "  3 jobs a week, an order takes 0 weeks from the week's end"
    assert lines[2].endswith(" % of jobs on the day they come clear of their limits,")
    assert lines[3].endswith(" with 95 % confidence,")  # none only up to the limit
    assert "in 800 simulated weeks that had no part in the choice" in told.stdout
    assert "a bound, no promise" in told.stdout
    assert "left aside, without a column: front play" in told.stdout
    assert lines[-2].split()[:3] == ["drum", "ring", "A"]


def test_the_figures_are_the_same_whoever_works_and_others_for_another_seed(
    bench: Path, two_workers: str
) -> None:
    alone = ("--workers", "1")
    one, two, there, other = (
        shelf(*QUICKER, "--json", *more, cwd=bench).stdout
        for more in (alone, ("--workers", "2"), ("--cluster", two_workers), (*alone, "--seed", "2"))
    )
    assert one == two == there
    told = json.loads(one)
    assert told["shape"] == "gapwright stock shelf 2"
    assert (told["can be served"], told["only to the limit"]) == (10, 0)
    assert told["promise"]["only to the limit"] == 0
    assert told["answer"] == "shelf"
    assert told["kept"] is True
    assert told["promise"]["low"] >= 0.95
    assert told["promise"] != json.loads(other)["promise"]
    assert [size["hold"] % 2 for size in told["sizes"] if size["size"] == "B"] == [0]


def test_what_is_built_only_up_to_the_limit_is_told_apart(bench: Path) -> None:
    (bench / "past.csv").write_text(CLOSE, encoding="utf-8")
    asked = (*QUICK, "--workers", "1", "--share", "70")
    told = shelf(*asked, cwd=bench)
    assert told.returncode == 0, told.stdout
    lines = told.stdout.splitlines()
    answer = json.loads(shelf(*asked, "--json", cwd=bench).stdout)
    promise, close = answer["promise"], answer["promise"]["only to the limit"]
    assert (answer["can be served"], answer["only to the limit"]) == (8, 2)
    assert 0.7 <= promise["low"] < promise["share"] <= 0.83
    assert 0.1 < close < 0.25
    share = f"{100 * promise['share']:.1f} %"
    assert lines[2] == f"  builds {share} of jobs on the day they come clear of their limits,"
    assert lines[3].endswith(
        f" with 95 % confidence; {100 * close:.1f} % more only up to the limit,"
    )
    assert "    (up to a limit only where no sizes keep clear of it)" in lines
    more = shelf(*QUICK, "--workers", "1", "--share", "90", cwd=bench)
    assert more.returncode == 3
    assert more.stdout.strip() == (
        "NO SHELF of the unit's sizes serves so many; at most 80.0 % of drums can be served clear "
        "of their limits; 20.0 % more only up to the limit"
    )


def test_with_certainty_none_all_that_is_built_counts(bench: Path) -> None:
    (bench / "past.csv").write_text(CLOSE, encoding="utf-8")
    (bench / "unit.yaml").write_text(
        UNIT.replace("  name:", "  certainty: none\n  name:"), encoding="utf-8"
    )
    told = shelf(*QUICK, "--workers", "1", "--share", "90", cwd=bench)
    assert told.returncode == 0, told.stdout
    assert "limit," not in told.stdout


def test_a_week_with_a_job_only_up_to_the_limit_is_told_apart(bench: Path) -> None:
    (bench / "past.csv").write_text(CLOSE, encoding="utf-8")
    asked = (*QUICK, "--workers", "1", "--all-weeks", "40", "--jobs", "1")
    told = shelf(*asked, cwd=bench)
    assert told.returncode == 0, told.stdout
    assert "of weeks in which no job waits and all are clear of their limits,\n" in told.stdout
    promise = json.loads(shelf(*asked, "--json", cwd=bench).stdout)["promise"]
    assert promise["share"] < 0.85  # e^-0.2 of weeks have no job that none builds clear
    assert promise["only to the limit"] > 0.05


def test_a_job_built_only_up_to_the_limit_does_not_wait(bench: Path) -> None:
    """With a wait cost parts are held for it too."""
    (bench / "past.csv").write_text("low drum\n.160\n", encoding="utf-8")
    told = json.loads(
        shelf(*QUICK, "--workers", "1", "--wait-cost", "200", "--json", cwd=bench).stdout
    )
    assert (told["can be served"], told["only to the limit"]) == (0, 1)
    assert told["promise"]["share"] == 0
    assert told["promise"]["only to the limit"] > 0.9
    assert told["in view"] > 0.9


def test_where_no_job_comes_none_is_built_up_to_the_limit(bench: Path) -> None:
    few = ("--scenarios", "60", "--weeks", "100", "--jobs", "0.01", "--seed", "7", "--json")
    told = shelf(*few, "--workers", "1", "--wait-cost", "5", cwd=bench)
    promise = {"share": 1, "low": 1, "high": 1, "only to the limit": 0}
    assert json.loads(told.stdout)["promise"] == promise


STEELS = """\
length: in
unit:
  name: Harrow 4
  aims: [thin, aim]
  families:
    friction: {kind: friction, fixed: .0800}
    drum steel: {kind: steel, sizes: {thin: .0740, thick: .0800}}
  packs:
    low drum: {window: .010 to .024, stack: [friction, drum steel]}
"""


def test_aims_without_safe_are_named_where_they_leave_a_shelf_short(bench: Path) -> None:
    """For .171 the thin steel is clear of the limits, and `fit` takes the thick one."""
    (bench / "past.csv").write_text("low drum\n.171\n.180\n", encoding="utf-8")
    for aims, code in (("[thin, aim]", 4), ("[safe, thin, aim]", 0)):
        text = STEELS.replace("[thin, aim]", aims)
        (bench / "unit.yaml").write_text(text, encoding="utf-8")
        told = shelf(*QUICK, "--workers", "1", "--share", "80", cwd=bench)
        assert told.returncode == code, told.stdout
        why = "SHORT of the 80.0 % asked for; the unit's aims leave out `safe`, so `fit` builds up "
        assert (why in told.stdout) == (code == 4), told.stdout


def test_more_is_held_for_whole_weeks_and_for_a_longer_way(bench: Path) -> None:
    def full(*more: str) -> float:
        told = json.loads(shelf(*QUICK, "--workers", "1", "--json", *more, cwd=bench).stdout)
        assert told["kept"], told
        return float(told["cost"])

    jobs = full("--share", "90")
    assert full("--all-weeks", "90") > jobs
    assert full("--share", "90", "--lead-time", "2") > jobs


def test_what_waiting_costs_may_stand_in_place_of_a_share(bench: Path) -> None:
    def hold(cost: str) -> int:
        arguments = ("--wait-cost", cost, "--keep-cost", "10", "--workers", "1", "--json")
        told = json.loads(shelf(*QUICK, *arguments, cwd=bench).stdout)
        assert float(told["a week"]) > 0
        assert told["gap"] is not None
        return sum(size["hold"] for size in told["sizes"])

    assert hold("200") > hold("1")


def test_only_what_is_not_on_hand_is_ordered(bench: Path) -> None:
    ran("shelf", "init", "shop.db", cwd=bench)
    part = ("drum ring", "A", "2", "--unit", "unit.yaml")
    added = ran("shelf", "add", "shop.db", *part, cwd=bench)
    assert added.returncode == 0, added.stderr
    told = json.loads(
        shelf(*QUICK, "--workers", "1", "--json", "--shelf", "shop.db", cwd=bench).stdout
    )
    first = next(size for size in told["sizes"] if size["size"] == "A")
    assert first["on hand"] == 2
    assert first["order"] == first["hold"] - 2 > 0
    words = shelf(*QUICK, "--workers", "1", "--shelf", "shop.db", cwd=bench).stdout
    assert "order now" in words


def test_the_history_is_what_the_ledger_issued_and_to_which_space(bench: Path) -> None:
    """Of four jobs two were given parts: their spaces, and no other's, are the drums."""
    ran("shelf", "init", "shop.db", cwd=bench)
    unit = ("--unit", "unit.yaml")
    ran("shelf", "add", "shop.db", "drum ring", "A", "5", *unit, cwd=bench)
    (bench / "jobs").mkdir()
    for nth, gap in enumerate((".010", ".014", ".018", ".022"), 1):
        text = (
            f"length: in\njob:\n  name: J-{nth}\n  gaps: {{low drum: {{trial: [A], gap: {gap}}}}}\n"
        )
        (bench / "jobs" / f"J-{nth}.yaml").write_text(text, encoding="utf-8")
    for job in ("J-1", "J-3"):
        given = ran(
            "shelf", "issue", "shop.db", "drum ring", "A", "1", "--job", job, *unit, cwd=bench
        )
        assert given.returncode == 0, given.stderr
    (bench / "jobs" / "J-3.yaml").rename(bench / "jobs" / "J-3.yml")
    (bench / "jobs" / "unit.yaml").write_text(UNIT, encoding="utf-8")  # no job, passed over
    case = read_unit_alone(bench / "unit.yaml")
    jobs = former_units(bench / "jobs", case)
    past = past_of(case, [jobs], 1, str(bench / "shop.db"))
    assert past.history.columns == ("low drum",)
    assert past.history.rows == {(Length(THOU * 150),): 1, (Length(THOU * 158),): 1}
    assert past_of(case, [jobs], 1).history.rows.total() == 4


def test_a_share_no_sizes_can_serve_is_no_fit(bench: Path) -> None:
    (bench / "past.csv").write_text("low drum,count\n.156,5\n.500,5\n", encoding="utf-8")
    told = shelf(*QUICK, "--workers", "1", cwd=bench)
    assert told.returncode == 3
    assert "NO SHELF of the unit's sizes serves so many; at most 50.0 %" in told.stdout


def test_weeks_without_a_job_that_nothing_serves_are_whole(bench: Path) -> None:
    (bench / "past.csv").write_text("low drum,count\n.156,5\n.500,5\n", encoding="utf-8")
    asked = (*QUICK, "--workers", "1", "--all-weeks", "90", "--jobs")
    rare, often = (shelf(*asked, jobs, cwd=bench) for jobs in ("0.1", "0.3"))
    assert rare.returncode == 0, rare.stdout  # e^-0.05 is above 0.9
    assert "of weeks in which no job waits" in rare.stdout
    assert often.returncode == 3  # e^-0.15 is below


def test_jobs_may_be_so_few_that_some_scenarios_have_none(bench: Path) -> None:
    told = shelf(*QUICK, "--workers", "1", "--jobs", "0.05", cwd=bench)
    assert told.returncode == 0, told.stderr


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--share", "0"), '--share: found "0"; write percent'),
        (("--jobs", "many"), '--jobs: found "many"; write jobs a week'),
        (("--jobs", "0"), '--jobs: found "0"; write jobs a week'),
        (("--jobs", "0.001"), "--scenarios: no job comes in 60 cycles at 0.001 jobs a week"),
        (("--share", "90", "--wait-cost", "3"), "--share and --wait-cost are asked for together"),
        (("--wait-cost", "-3"), '--wait-cost: found "-3"; write an amount of money'),
        (("--cluster", "nowhere"), "is no address"),
    ],
)
def test_what_is_wrong_is_one_sentence(bench: Path, arguments: tuple[str, ...], says: str) -> None:
    told = shelf(*QUICK, *arguments, cwd=bench)
    assert told.returncode == 2
    assert says in told.stderr
    assert "Traceback" not in told.stderr


def test_the_quantiles_are_students() -> None:
    from scipy.stats import t

    for freedom in (9, 19, 39, 400):
        assert student(freedom, 0.95) == pytest.approx(t.ppf(0.975, freedom), abs=0.001)
        assert student(freedom, 0.9) == pytest.approx(t.ppf(0.95, freedom), abs=0.001)


def test_a_share_that_is_counted_has_wilsons_interval() -> None:
    from scipy.stats import binomtest

    for some, of in ((0, 20), (19, 20), (300, 333)):
        theirs = binomtest(some, of).proportion_ci(0.95, "wilson")
        ours = counted(some, of)
        assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high))


def test_a_ratio_that_does_not_vary_is_sure() -> None:
    assert ratio([(9, 10)] * 5).low == pytest.approx(0.9)
