"""Small invented units to break: one drum of three steels, and what to say of a broken one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml

from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse

if TYPE_CHECKING:
    from specs.models.case import Case

DRUM = """\
length: in
unit:
  families:
    apply plate: {kind: apply plate, fixed: .1000}
    friction: {kind: friction, fixed: .0800}
    drum steel: {kind: steel, sizes: {thick: .0880, thin: .0690}}
    drum plate: {kind: pressure plate, fixed: .1900}
    drum ring: {kind: ring, sizes: [.0600, .0700, .0780]}
  packs:
    low drum:
      window: .060 to .080
      stack: [apply plate, {repeat: 3, of: [friction, drum steel]}, friction, drum plate, drum ring]
shelf:
  drum steel: {thick: 5, thin: 2}
  drum ring: {.0600: 1, .0700: 1, .0780: 2}
job:
  gaps:
    low drum: {trial: [thick, thick, thick, .0780], gap: .041}
"""
BROKEN: dict[str, list[Any]] = yaml.safe_load(
    (Path(__file__).parent / "broken.yaml").read_text(encoding="utf-8")
)
Swap = tuple[str, str]


def swapped(text: str, *swaps: Swap) -> str:
    """A text with each first found part exchanged; a part that is not there is a slip of ours."""
    for old, new in swaps:
        assert old in text, f"nothing to exchange: {old}"
        text = text.replace(old, new, 1)
    return text


def taken(text: str, *swaps: Swap) -> Case:
    return case_of(parse(swapped(text, *swaps), "drum.yaml"))


def problems(text: str, *swaps: Swap) -> list[str]:
    """What is said of a broken text, line by line, without the name of the file."""
    with pytest.raises(InputError) as caught:
        taken(text, *swaps)
    told = str(caught.value).split("\n")
    assert len(told) == len(caught.value.problems)
    return [line.removeprefix("drum.yaml:") for line in told]


def problem(text: str, *swaps: Swap) -> str:
    """The one thing said of a broken text."""
    (told,) = problems(text, *swaps)
    return told


def each(chapter: str) -> pytest.MarkDecorator:
    """Run a test on every broken drum of a chapter of broken.yaml."""
    cases = [(one["exchange"], one["for"], one["told"]) for one in BROKEN[chapter]]
    assert len(cases) > 3
    return pytest.mark.parametrize(("old", "new", "told"), cases)
