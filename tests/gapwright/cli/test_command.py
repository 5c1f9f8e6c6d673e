"""The command line as a person meets it: exit codes, help, JSON, the demo, its files."""

from __future__ import annotations

import json
import signal
import subprocess
import time
from pathlib import Path
from unittest.mock import patch

import jsonschema
import pytest

from gapwright.schema import SECTIONS, schema_text
from specs.formats.yaml import read
from tests.commands import COMMAND, DEMO, HOME, environment, process, run
from tests.commands import ran as gapwright


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench") / "demo"
    asked = gapwright("demo", str(folder))
    assert asked.returncode == 0, asked.stderr
    assert "FITS, proved best" in asked.stdout
    assert "NO FIT, proved" in asked.stdout
    return folder


def test_the_demo_leaves_its_files_and_writes_over_nothing(demo: Path) -> None:
    names = {path.name for path in demo.iterdir()}
    assert names >= {"unit.yaml", "shelf.yaml", "job.yaml", "job-no-fit.yaml"}
    again = gapwright("demo", str(demo))
    assert again.returncode == 2
    assert "there already" in again.stderr


def test_the_demo_is_the_unit_it_promises_to_be(demo: Path) -> None:
    told = json.loads(gapwright("fit", "--json", str(demo / "job.yaml")).stdout)
    unit = read(demo / "unit.yaml").data["unit"]
    assert len(unit["packs"]) == 4
    assert len(unit["end plays"]) == 2
    assert any(len(pack.get("layouts", {})) == 2 for pack in unit["packs"].values())
    washers = [
        part
        for gap in told["gaps"]
        for part in gap["parts"]
        if part["place"] in unit["shared parts"]
    ]
    assert len(washers) == 2
    assert washers[0]["size"] == washers[1]["size"]


@pytest.mark.face
def test_exit_codes_are_as_documented(demo: Path, tmp_path: Path) -> None:
    assert gapwright("fit", str(demo / "job.yaml")).returncode == 0
    assert gapwright("fit", str(demo / "job-no-fit.yaml")).returncode == 3
    assert gapwright("fit", str(tmp_path / "none.yaml")).returncode == 2
    assert gapwright("fit").returncode == 2
    assert gapwright("fit", "--workers", "0", str(demo / "job.yaml")).returncode == 2
    assert gapwright("fit", "--time", "0", str(demo / "job.yaml")).returncode in (0, 4)
    assert gapwright("--help").returncode == 0


@pytest.mark.parametrize(
    "words",
    [
        ("fit", DEMO / "job.yaml"),
        ("fit", DEMO / "job-no-fit.yaml", "--json"),
        ("fit", DEMO / "none.yaml"),
        ("fti",),
        ("tell", "--help"),
        ("--version",),
    ],
    ids=lambda words: " ".join(Path(word).name for word in words),
)
@pytest.mark.face
def test_a_process_prints_what_the_tests_see_and_ends_with_that_code(
    words: tuple[str | Path, ...],
) -> None:
    alone, ours = process(*words), run(*words)
    assert (alone.returncode, alone.stdout) == (ours.returncode, ours.stdout)
    assert alone.stderr == ours.stderr


def test_the_version_is_told_installed_or_not() -> None:
    asked = gapwright("--version")
    assert asked.returncode == 0
    assert asked.stdout.startswith("gapwright")


def test_a_mistyped_verb_is_suggested() -> None:
    asked = gapwright("fti")
    assert asked.returncode == 2
    assert "Did you mean 'fit'?" in asked.stderr


def test_an_unforeseen_error_is_one_sentence_that_says_how_to_report_it(tmp_path: Path) -> None:
    with patch("gapwright.record.reading.read_case", side_effect=ZeroDivisionError("by zero")):
        asked = gapwright("fit", tmp_path / "x.yaml")
    assert asked.returncode == 1
    assert "Traceback" not in asked.stderr
    assert "unforeseen: ZeroDivisionError: by zero" in asked.stderr
    assert "report it" in asked.stderr


@pytest.mark.parametrize("section", SECTIONS)
@pytest.mark.face
def test_the_written_files_satisfy_the_schema_and_that_of_their_section(
    demo: Path, section: str
) -> None:
    import yaml

    written = (demo / f"{section}.yaml").read_text(encoding="utf-8")
    plain = json.loads(json.dumps(yaml.safe_load(written)))
    assert written.startswith("# yaml-language-server: $schema=gapwright.schema.json\n")
    beside = json.loads((demo / "gapwright.schema.json").read_text(encoding="utf-8"))
    assert [path.name for path in demo.glob("*.json")] == ["gapwright.schema.json"]
    for words in ((), (section,)):
        schema = json.loads(gapwright("schema", *words).stdout)
        assert schema == json.loads(schema_text(*words))
        assert words or schema == beside
        jsonschema.Draft202012Validator.check_schema(schema)
        checker = jsonschema.Draft202012Validator(schema)
        assert [error.message for error in checker.iter_errors(plain)] == []
        assert list(checker.iter_errors({"unit": {"famlies": {}}, "shelf": {}, "job": {}}))
        assert list(checker.iter_errors({"length": "in"}))
        other: dict[str, object] = {"kit" if section == "job" else "job": {}}
        assert bool(list(checker.iter_errors(other))) == bool(words)


def test_json_is_the_same_for_every_number_of_workers(demo: Path) -> None:
    one, two, eight = (
        gapwright("fit", "--json", "--workers", n, str(demo / "job.yaml")).stdout for n in "128"
    )
    assert one == two == eight
    told = json.loads(one)
    assert told["shape"] == "gapwright fit 4"
    assert told["proved"] is True


@pytest.mark.face
def test_json_tells_no_fit_and_what_waits(demo: Path) -> None:
    told = json.loads(gapwright("fit", "--json", str(demo / "job-no-fit.yaml")).stdout)
    assert told["answer"] == "no fit"
    assert told["nearest"][0]["missed by"]["shown"] == "0.0024 in"
    kinds = [condition["kind"] for condition in told["why"]["conditions"]]
    assert sorted(kinds) == ["lowest", "rule", "stock"]
    assert told["why"]["irreducible"] is True
    release, buy = told["ways out"]
    assert buy["buy"] == [{"family": "low steel", "size": "thin", "count": 1, "packs": 1}]
    assert buy["cost"] == "2.1"
    assert release["kind"] == "release"
    assert release["gaps"][0]["gap then"]["shown"] == "0.0476 in"
    assert {"gap": "train play", "for": ["train gap"], "no reading": None} in told["waiting"]


def test_a_unit_and_a_shelf_may_be_given_apart(demo: Path, tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    text = (demo / "job.yaml").read_text(encoding="utf-8")
    job.write_text(text.replace("unit: unit.yaml\nshelf: shelf.yaml\n", ""), encoding="utf-8")
    options = ["--unit", str(demo / "unit.yaml"), "--shelf", str(demo / "shelf.yaml")]
    apart = gapwright("fit", str(job), *options)
    assert apart.returncode == 0, apart.stderr
    assert apart.stdout == gapwright("fit", str(demo / "job.yaml")).stdout


def wait_for_the_engine(pid: int) -> None:
    """Wait until a process has begun to solve; without /proc, as long as that may take."""
    maps = Path(f"/proc/{pid}/maps")
    for _ in range(300 if maps.exists() else 20):
        time.sleep(0.1)
        if maps.exists() and "ortools" in maps.read_text(encoding="utf-8"):
            break
    time.sleep(0.5)


def test_control_c_ends_in_a_sentence_not_in_a_traceback(tmp_path: Path) -> None:
    sizes = ", ".join(f".{850 + n}" for n in range(0, 97, 2))
    lots = ", ".join(f".{850 + n}: 1" for n in range(0, 97, 2))
    places = ", ".join(["steel, friction"] * 12)
    job = tmp_path / "hard.yaml"
    window = "{gap: 0.0001 to 0.0002}"
    pack = f"{{window: {window}, space: depth, readings: {{depth: how deep}}, stack: [{places}]}}"
    steel = f"{{kind: steel, sizes: [{sizes}]}}"
    families = f"{{friction: {{kind: friction, fixed: 2.0}}, steel: {steel}}}"
    job.write_text(
        f"length: mm\nunit: {{families: {families}, packs: {{big: {pack}}}}}\n"
        f"shelf: {{steel: {{{lots}}}}}\njob: {{gaps: {{big: {{readings: {{depth: 34.7501}}}}}}}}\n",
        encoding="utf-8",
    )
    started = subprocess.Popen(
        [*COMMAND, "fit", str(job)], cwd=HOME, env=environment(),
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    wait_for_the_engine(started.pid)
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=60)
    assert "Traceback" not in err
    assert started.returncode in (0, 3, 4), (out, err)


@pytest.mark.face
def test_the_demo_sorts_a_pile_and_refuses_what_is_mixed(tmp_path: Path) -> None:
    out = gapwright("demo", str(tmp_path / "demo")).stdout
    told = out[out.index("$ gapwright tell --list") :]
    assert "8 parts, Harrow 4: 6 told" in told
    assert "BETWEEN drive friction or over friction: 1" in told
    assert "look at teeth (36: drive friction; 40: over friction): then 100 % sure" in told
    assert "OUT OF LIMITS or of another unit: 1" in told
    assert "low steel thick: WORN, not to be used again: hot spots" in told
    assert "low spring nine turns goes with low piston height 1.315" in told
