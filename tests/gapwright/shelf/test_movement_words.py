"""Every kind of movement has its command and its words."""

from __future__ import annotations

from gapwright.cli.shelf import shelf
from gapwright.shelf.answer import COMMANDS
from gapwright.shelf.text import PAST
from inventory.movements import KINDS


def test_every_kind_of_movement_has_a_command_and_its_words() -> None:
    assert {*COMMANDS} == {*KINDS}
    assert {*COMMANDS.values()} <= {*shelf.commands}
    assert {*PAST, "count"} == {*KINDS}  # what a count did depends on what the books had
