"""The README is true: followed from the top, with its picture, cautions and verbs."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gapwright.fit.text import CAUTION
from specs.files.read import read_case
from tests.commands import HOME, ran
from tests.documents import GUIDE, INSTALLS, blocks, followed, of, picture, shown

if TYPE_CHECKING:
    from pathlib import Path

README = HOME / "README.md"
TEXT = README.read_text(encoding="utf-8")


def test_it_may_be_followed_from_top_to_bottom(tmp_path: Path) -> None:
    told = followed(README, tmp_path)
    assert not any("[exit" in printed for _, printed in told)
    assert [told[nth][1] for nth in shown(README)] == list(shown(README).values())
    assert len(shown(README)) == 1


def test_the_two_commands_are_those_that_ci_runs() -> None:
    first, second = [block.text for block in blocks(README) if INSTALLS in block.text]
    assert first == of(README, "sh")[0]
    assert first.endswith("gapwright demo\n")
    assert "pytest" in second


def test_the_picture_is_drawn_from_the_readmes_drum() -> None:
    drawn = (GUIDE / "drum.svg").read_text(encoding="utf-8")
    assert drawn == picture(), "python -m tests.documents > gapwright/guide/drum.svg"


def test_the_first_own_drum_takes_no_more_than_twenty_five_lines() -> None:
    assert len(of(README, "yaml")[0].splitlines()) <= 25


def test_it_fits_on_a_few_screens() -> None:
    assert len(TEXT.splitlines()) <= 165


def test_every_verb_is_named_and_every_verb_named_is_offered() -> None:
    offered = set(re.findall(r"^  (\w+)  ", ran("--help").stdout, re.MULTILINE))
    assert set(re.findall(r"`gapwright (\w+)", TEXT)) | {"demo"} == offered


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_file_named_is_there(name: str) -> None:
    text = (HOME / name).read_text(encoding="utf-8")
    linked = re.findall(r"\]\(([^)#]+)[^)]*\)", text)
    named = re.findall(r"`((?:gapwright|solver|specs|inventory|tests)/[\w/.]+)`", text)
    files = [file for file in (*linked, *named) if "NAME" not in file]
    assert files
    assert [file for file in files if not (HOME / file).exists()] == []


def test_what_a_developer_begins_with_works(tmp_path: Path) -> None:
    for entry in HOME.iterdir():
        if not entry.name.startswith("."):
            (tmp_path / entry.name).symlink_to(entry)
    told = followed(HOME / "DEVELOPERS.md", tmp_path)
    (_, begun), *_ = told
    assert "gapwright" in begun
    assert " 100%" in begun or "100%]" in begun
    assert "failed" not in begun


def test_the_full_cautions_stand_in_the_readme_and_in_the_guide() -> None:
    for document in (README, GUIDE / "bench.md"):
        text = document.read_text(encoding="utf-8")
        section = text[text.index("## Before you start") :]
        for hazard in ("springs", "Rings fly", "air-test", "maker's manual", "seated all round"):
            assert hazard in section
    assert "guard your eyes" in CAUTION


def test_the_demo_reads_like_the_reference(tmp_path: Path) -> None:
    from gapwright.demo import write_demo

    for job in write_demo(tmp_path / "demo"):
        assert read_case(job).unit.name == "Harrow 4"
