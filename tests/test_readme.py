"""The README is true: its example, its output, its script, and the commands it names."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

import gapwright
from gapwright.check.service import check_job
from gapwright.fit.text import CAUTION
from gapwright.output.rendering import render
from specs.errors import InputError
from specs.files.read import read_case
from tests.commands import HOME, ran

if TYPE_CHECKING:
    from pathlib import Path

README = (HOME / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """The README's blocks of one language, in order; plain ones under no language."""
    found = re.findall(r"^```(\w*)\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)
    return [text for name, text in found if name == language]


@pytest.fixture
def drum(tmp_path: Path) -> Path:
    path = tmp_path / "drum.yaml"
    path.write_text(blocks("yaml")[0], encoding="utf-8")
    return path


def test_the_first_own_drum_takes_no_more_than_twenty_five_lines() -> None:
    assert len(blocks("yaml")[0].splitlines()) <= 25


def test_the_answer_shown_is_the_answer_given(drum: Path) -> None:
    assert render(gapwright.fit_job(drum)) + "\n" == blocks("")[0]


def test_the_check_shown_is_the_check_given(drum: Path) -> None:
    before, built = (
        "    low drum: {trial: [thick, thick, thick, .0780], gap: .041}\n",
        blocks("yaml")[1],
    )
    drum.write_text(drum.read_text(encoding="utf-8").replace(before, built), encoding="utf-8")
    assert render(check_job(drum)) + "\n" == blocks("")[1]


def test_every_way_to_say_the_heat_of_a_pack_is_taken(drum: Path) -> None:
    written, ways = drum.read_text(encoding="utf-8"), re.findall(r"`(heat: \{.*\})`", README)
    assert len(ways) == 2
    for heat in ways:
        drum.write_text(written.replace("      stack:", f"      {heat}\n      stack:"), "utf-8")
        assert "hottest drum steel thin (number 3)" in render(gapwright.fit_job(drum))


def test_the_sections_may_be_moved_into_files_of_their_own(drum: Path) -> None:
    text = drum.read_text(encoding="utf-8")
    unit, shelf, job = (text.index(f"\n{name}:") for name in ("unit", "shelf", "job"))
    length = text[:unit] + "\n"
    (drum.parent / "unit.yaml").write_text(length + text[unit + 1 : shelf], encoding="utf-8")
    (drum.parent / "shelf.yaml").write_text(length + text[shelf + 1 : job], encoding="utf-8")
    names = "unit: unit.yaml\nshelf: shelf.yaml\n"
    apart = drum.parent / "job.yaml"
    apart.write_text(length + names + text[job + 1 :], encoding="utf-8")
    assert render(gapwright.fit_job(apart)) == render(gapwright.fit_job(drum))


def test_the_week_of_drums_is_planned(drum: Path) -> None:
    test_the_sections_may_be_moved_into_files_of_their_own(drum)
    (drum.parent / "week.csv").write_text(blocks("csv")[1], encoding="utf-8")
    command = next(text for text in blocks("sh") if text.startswith("gapwright batch"))
    asked = ran(*command.split()[1:], cwd=drum.parent)
    assert asked.returncode in (0, 3), asked.stderr
    assert " of 3 jobs can be completed, proved best" in asked.stdout
    assert (drum.parent / "plan.csv").exists()
    assert (drum.parent / "plan.svg").exists()


def test_what_belongs_together_is_held_against_what_was_found(drum: Path) -> None:
    (sets,) = [text for text in blocks("yaml") if "belongs together" in text]
    (found,) = re.findall(r"`(found: {.*?})`", README)
    text = drum.read_text(encoding="utf-8").replace("  packs:\n", sets + "  packs:\n")
    drum.write_text(text.replace("job:\n", f"job:\n  {found}\n"), encoding="utf-8")
    with pytest.raises(InputError, match="the spring goes solid before the pack is pressed"):
        gapwright.fit_job(drum)


def test_the_pile_is_sorted(drum: Path) -> None:
    (drum.parent / "pile.csv").write_text(blocks("csv")[0], encoding="utf-8")
    (line,) = re.findall(r"`gapwright (tell --list .*)`", README)
    (one,) = [text for text in blocks("sh") if "gapwright tell" in text]
    for words, said in ((line, "counts.csv"), (one.partition("gapwright ")[2], "thin, 100 % sure")):
        asked = ran(*words.split(), cwd=drum.parent)
        assert said in asked.stdout, asked.stderr


def test_the_script_runs(drum: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", blocks("python")[0]],
        cwd=drum.parent, env={"PYTHONPATH": str(HOME), "PATH": "/usr/bin:/bin"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stdout == "low drum 1.727 mm ['thin', 'thick', 'thick', '.0700']\n", done.stderr


def test_the_shelf_commands_work_word_for_word(tmp_path: Path) -> None:
    from gapwright.demo import write_demo

    write_demo(tmp_path / "gapwright-demo")
    told = word_for_word("shelf init shop.db", tmp_path)
    for said in ("31 lots received", "2 received; 4 on hand", "fewer than 2 free: low ring .0600",
                 "reserved for J-1042: 19 parts", "the chain holds"):  # fmt: skip
        assert said in told


def test_the_kit_commands_work_word_for_word(tmp_path: Path) -> None:
    from gapwright.demo import write_demo

    write_demo(tmp_path / "gapwright-demo")
    told = word_for_word("kit pack", tmp_path)
    for said in (
        "Harrow 4 overhaul kit, Harrow 4: COVERS ALL IT IS FOR",
        "left over: 16 parts",
        "kit.html: kit sheet of Harrow 4 overhaul kit",
        "174 parts drawn for",
    ):
        assert said in told


def test_a_kit_and_a_shelf_are_chosen_for_the_demos_drums(tmp_path: Path) -> None:
    from gapwright.demo import write_demo

    write_demo(tmp_path / "gapwright-demo")
    kit = word_for_word("stock kit", tmp_path, "--time 20")
    assert "of 160 drums, 144 were asked for" in kit
    assert (tmp_path / "gapwright-demo" / "kit.svg").exists()
    short = word_for_word("stock shelf", tmp_path, "--scenarios 20 --weeks 100 --time 4", 4)
    assert short.startswith(("SHELF for low, drive, ", "UNDECIDED"))


def word_for_word(named: str, folder: Path, quicker: str = "", *codes: int) -> str:
    """Run the block of commands that names something, and give what it prints.

    Options that make the last of them quicker may stand behind it, and it may then end otherwise.
    """
    (commands,) = [text for text in blocks("sh") if named in text]
    script = commands.replace(". .venv/bin/activate && ", "")
    assert script != commands
    script = f"{script.rstrip()} {quicker}\n"
    enter, *lines = script.splitlines()
    there = folder / enter.removeprefix("cd ")
    told, code = "", 0
    for line in lines:
        command, *words = shlex.split(line)
        assert (command, code) == ("gapwright", 0)
        done = ran(*words, cwd=there, settings={"GAPWRIGHT_WHO": "mary"})
        told, code = told + done.stdout, done.returncode
        assert done.stderr == ""
    assert code in (0, *codes)
    return told


def test_every_verb_and_option_of_a_shelf_named_is_offered() -> None:
    from gapwright.cli.shelf import shelf

    section = README[README.index("## A shelf that is right") : README.index("## What the answer")]
    verbs = set(re.findall(r"shelf (\w+) shop\.db", section)) | {"count", "scrap", "return"}
    assert verbs <= shelf.commands.keys()
    offered = {
        option
        for command in shelf.commands.values()
        for parameter in command.params
        for option in parameter.opts
    }
    assert set(re.findall(r"--[a-z-]+", section)) <= offered | {"--reserve", "--shelf"}


def test_every_option_of_the_bench_page_named_is_offered(tmp_path: Path) -> None:
    from gapwright.cli.serve import serve
    from gapwright.demo import write_demo
    from gapwright.web.start import open_shop

    section = README[README.index("## At the bench") : README.index("## After assembly")]
    offered = {option for parameter in serve.params for option in parameter.opts}
    assert set(re.findall(r"--[a-z-]+", section)) <= offered
    assert "serve gapwright-demo" in section
    assert str(next(one.default for one in serve.params if one.name == "port")) in section
    write_demo(tmp_path / "gapwright-demo")
    open_shop(tmp_path / "gapwright-demo")


def test_the_commands_named_are_offered() -> None:
    offered = ran("--help").stdout
    verbs = set(re.findall(r"`gapwright (\w+)", README)) | set(
        re.findall(r"gapwright (\w+)`", README)
    )
    assert verbs >= {"demo", "schema"}
    assert all(f"  {verb} " in offered for verb in verbs)


def test_the_full_cautions_stand_in_the_readme() -> None:
    section = README[README.index("## Before you start") :]
    for hazard in ("springs", "Rings fly", "air-test", "maker's manual", "seated all round"):
        assert hazard in section
    assert "guard your eyes" in CAUTION


def test_every_verdict_explained_is_one_that_is_given() -> None:
    faces = (HOME / "gapwright" / "fit" / name for name in ("text.py", "conformance_text.py"))
    words = "".join(face.read_text(encoding="utf-8") for face in faces)
    for verdict in re.findall(r"^- \*\*([A-Z ]{4,})\b", README, flags=re.MULTILINE):
        assert verdict.strip() in words


def test_the_demo_reads_like_the_reference(tmp_path: Path) -> None:
    from gapwright.demo import write_demo

    for job in write_demo(tmp_path / "demo"):
        assert read_case(job).unit.name == "Harrow 4"
