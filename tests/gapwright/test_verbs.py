"""Every verb stands in one list, and all that it names is there."""

from __future__ import annotations

import ast
from importlib import import_module
from pathlib import Path

import click
import pytest

import gapwright
from gapwright.__main__ import cli
from gapwright.verbs import VERBS, folders, writers_of

HOME = Path(gapwright.__file__).parent
MOST = 4
"""The most verbs that a list may name by chance, such as those that take a job."""
FOUND = [found for verb in VERBS.values() for writers in verb.values() for found in writers]


def test_every_command_is_a_verb_and_every_verb_a_command() -> None:
    inside = {
        file.stem for file in (HOME / "cli").glob("*.py")
        if isinstance(
            getattr(import_module(f"gapwright.cli.{file.stem}"), file.stem, None), click.Command
        )
    }  # fmt: skip
    assert {*cli.commands} == {*VERBS} == inside


def test_every_folder_that_declares_answers_is_in_the_list() -> None:
    inside = {
        ".".join(("gapwright", *file.parent.relative_to(HOME).parts))
        for file in HOME.rglob("answer.py") if "\nANSWERS = " in file.read_text(encoding="utf-8")
    }  # fmt: skip
    assert {*folders()} == inside
    assert len([*folders()]) == len(inside)


@pytest.mark.parametrize("found", FOUND)
def test_what_is_found_is_written_in_words_and_as_json(found: str) -> None:
    folder, text, answer = writers_of(found)
    assert callable(getattr(import_module(f"{folder}.text"), text))
    assert callable(getattr(import_module(f"{folder}.answer"), answer))
    assert FOUND.count(found) == 1


def listed(module: str) -> set[str]:
    """The verbs that a module names in one list, where they are many."""
    for node in ast.walk(ast.parse(module)):
        if isinstance(node, ast.Tuple | ast.List | ast.Set | ast.Dict):
            ends = node.keys if isinstance(node, ast.Dict) else node.elts
            words = {str(one.value) for one in ends if isinstance(one, ast.Constant)}
            names = {one.id for one in ends if isinstance(one, ast.Name)}
            verbs = (words | names) & {*VERBS}
            if len(verbs) > MOST:
                return verbs
    return set()


def test_no_other_module_lists_the_verbs() -> None:
    assert listed("for verb in (fit, check, batch, cover, stock): add(verb)")
    assert listed('HOMES = {"fit": 1, "check": 2, "kit": 3, "shelf": 4, "tell": 5}')
    here = HOME / "verbs.py"
    assert listed(here.read_text(encoding="utf-8"))
    others = [file for file in HOME.rglob("*.py") if file != here]
    assert [file for file in others if listed(file.read_text(encoding="utf-8"))] == []
