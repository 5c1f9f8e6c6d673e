"""One section by itself, what tells a ledger from a file, and files written to be read again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.on_hand import shelf_lots
from specs.errors import InputError
from specs.files.read import read_unit, shelf_of
from specs.files.shelf_address import is_ledger, is_server
from specs.formats.yaml import parse
from specs.formats.yaml_text import written
from tests.specs.drums import DRUM, taken

STEELS = "{thick: 5, thin: 2}"


@pytest.mark.parametrize(
    ("reserved", "left"),
    [("2", 3), ("{another: 2}", 3), ("{job: 2}", 5), ("{job: 1, another: 2}", 3), ("{}", 5)],
)
def test_a_job_may_take_what_is_reserved_for_it(reserved: str, left: int) -> None:
    case = taken(DRUM, (STEELS, f"{{thick: {{count: 5, reserved: {reserved}}}}}"))
    assert sum(lot.count for lot in shelf_lots(case) if lot.size == "thick") == left


def test_a_unit_is_read_by_itself_and_checked(tmp_path: Path) -> None:
    file = tmp_path / "drum.yaml"
    file.write_text(DRUM, encoding="utf-8")
    unit, origin = read_unit(file)
    assert [*unit.packs] == ["low drum"]
    assert origin.length == "in"
    file.write_text(DRUM.replace("drum plate, drum ring]", "drum plat]"), encoding="utf-8")
    with pytest.raises(InputError, match="drum plat"):
        read_unit(file)


def test_a_shelf_is_taken_by_itself_whatever_is_wrong_beside_it() -> None:
    shelf, origin = shelf_of(DRUM.replace("kind: ring", "kind: rnig").encode(), "drum.yaml")
    assert [*shelf] == ["drum steel", "drum ring"]
    assert origin.problem(("drum ring",), "").line == 15


@pytest.mark.parametrize(
    ("name", "content", "ledger"),
    [
        ("shop.db", None, True),
        ("shop.db", b"shelf: {}", True),
        ("shop", b"SQLite format 3\0 and on", True),
        ("shop", b"SQLite format", False),
        ("shelf.yaml", b"shelf: {}", False),
        ("shelf.yaml", None, False),
        ("", None, False),
    ],
)
def test_a_ledger_is_told_by_its_name_or_its_first_bytes(
    tmp_path: Path, name: str, content: bytes | None, *, ledger: bool
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    assert is_ledger(tmp_path / name) == ledger


def test_an_address_of_a_server_is_a_ledger() -> None:
    assert is_server("postgresql://host/db")
    assert is_ledger("postgres://host/db")
    assert not is_server(Path("postgresql.yaml"))


WORDS = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S")), min_size=1)
NAMES = WORDS.filter(lambda word: word != "<<")
FILES = st.dictionaries(
    NAMES,
    st.recursive(
        WORDS, lambda inner: st.lists(inner) | st.dictionaries(NAMES, inner), max_leaves=6
    ),
    min_size=1,
)


@given(FILES)
def test_a_file_written_reads_back_the_same(file: dict[str, Any]) -> None:
    assert parse(written(file), "x.yaml").data == file
