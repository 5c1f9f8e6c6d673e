"""The YAML door: every scalar as written, every surprise refused with its line."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from specs.errors import InputError
from specs.formats import yaml as yaml_door
from specs.formats.yaml import Source, parse, read

LOADERS = [yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)]
PIECES = [*"ab:-[]{},&*!'\"#|>?%@\n\t 0.~<", "a: ", "  - ", "\n  b: ", "---\n", "<<: "]

both_loaders = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
names = st.text("abc .", min_size=1).map(str.strip).filter(bool)
texts = st.text(st.characters(categories=["L", "N", "P", "S"]) | st.just(" "))
trees = st.recursive(
    texts, lambda inner: st.lists(inner) | st.dictionaries(names, inner), max_leaves=12
)


@pytest.fixture(autouse=True, params=LOADERS, ids=["python", "libyaml"])
def loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yaml_door, "_LOADER", request.param)


def problems(text: str | bytes) -> list[str]:
    with pytest.raises(InputError) as caught:
        parse(text, "f.yaml")
    return str(caught.value).split("\n")


# What is taken.


def test_every_scalar_stays_as_written() -> None:
    text = 'no: no\nt: 12:30\nz: 0.0710\no: 017\ninch: .071"\nempty: ""\ndate: 2031-04-09\nq: "~"'
    assert parse(text, "f.yaml").data == {
        "no": "no",
        "t": "12:30",
        "z": "0.0710",
        "o": "017",
        "inch": '.071"',
        "empty": "",
        "date": "2031-04-09",
        "q": "~",
    }


def test_maps_lists_and_texts_with_their_lines() -> None:
    source = parse(
        "# top\nunit:\n  rings: [.060, .070]\n  steels:\n    - a\n    -\n      b: 1\n", "f"
    )
    assert source.data == {"unit": {"rings": [".060", ".070"], "steels": ["a", {"b": "1"}]}}
    assert [
        source.line(path) for path in [("unit",), ("unit", "rings", 1), ("unit", "steels")]
    ] == [2, 3, 4]
    assert source.line(("unit", "steels", 1, "b")) == 7


def test_a_path_of_a_validator_finds_its_nearest_line() -> None:
    source = Source("f", {}, {(): 1, ("a",): 2, ("a", 0): 3, ("a", 0, "b"): 4})
    assert source.line(("a", 0, "union tag", "b")) == 4
    assert source.line(("a", 0, "missing")) == 3
    assert source.line(("other",)) == source.line(()) == 1
    assert Source("f", {}, {}).line(("a",)) == 1


@pytest.mark.parametrize(
    "raw", [b"a: 1\nb: 2\n", b"\xef\xbb\xbfa: 1\r\nb: 2\r\n", b"a: 1\rb: 2", b"{a: 1,\n b: 2}"]
)
def test_a_mark_of_byte_order_and_any_line_ends_are_taken(raw: bytes) -> None:
    source = parse(raw, "f.yaml")
    assert (source.data, source.lines) == ({"a": "1", "b": "2"}, {(): 1, ("a",): 1, ("b",): 2})
    assert parse(raw.decode(), "f.yaml") == source


def _nested(depth: int) -> str:
    return "a: " + "[" * depth + "x" + "]" * depth


def test_twenty_levels_are_taken_and_one_more_is_not() -> None:
    assert parse(_nested(19), "f").data
    assert problems(_nested(20)) == [
        "f.yaml:1: is nested deeper than 20 levels: no file of a shop is"
    ]


@given(st.dictionaries(names, trees))
@both_loaders
def test_what_a_program_writes_is_read_back(tree: dict[str, Any]) -> None:
    text = yaml.safe_dump(tree, allow_unicode=True, default_style='"')
    if tree:
        assert parse(text, "f.yaml").data == tree


# What is refused.


@given(st.text() | st.binary() | st.lists(st.sampled_from(PIECES)).map("".join))
@both_loaders
def test_random_text_raises_nothing_but_an_input_error(text: str | bytes) -> None:
    with suppress(InputError):
        assert parse(text, "f.yaml").lines
        return
    with pytest.raises(InputError) as caught:
        parse(text, "f.yaml")
    assert 1 <= len(caught.value.problems) <= 20
    assert all(problem.file and problem.sentence for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", ["f.yaml:1: is empty: write at least one 'name: value'"]),
        ("# only a note\n", ["f.yaml:1: is empty: write at least one 'name: value'"]),
        ("- a\n- b\n", ["f.yaml:1: is no map: a file is made of lines like 'name: value'"]),
        ("just words", ["f.yaml:1: is no map: a file is made of lines like 'name: value'"]),
        ("a: 1\nb:\n\tc: 1\n", ["f.yaml:3: is indented with a tab: use spaces"]),
        ("a: 1\n\tb: 1\n", ["f.yaml:2: is indented with a tab: use spaces"]),
        ("a: 1\n---\nb: 1\n", ["f.yaml:2: has a second document after '---': keep one to a file"]),
        (
            "a: 1\n...\nb: 1\n",
            ["f.yaml:3: goes on after the end of the document: keep one to a file"],
        ),
        (
            "a: b: c\n",
            ["f.yaml:1: has one colon too many or is indented by mistake: put the text in quotes"],
        ),
        (
            "a: 1\nb: @c\n",
            ["f.yaml:2: starts with a sign that YAML keeps for itself: put it in quotes"],
        ),
        ("a: [1, 2\nb: 3\n", ["f.yaml:1: opens a [ that is not closed"]),
        ("a: 1\nb: {c: 1\n", ["f.yaml:2: opens a { that is not closed"]),
        ("a: 1\nb: 'c\nd: e\n", ["f.yaml:2: opens a quote that is not closed"]),
        ("<<: {a: 1}\n", ["f.yaml:1: '<<' merges nothing here: write the lines out"]),
        ("a: 1\n~: 2\n", ["f.yaml:2: has a value without a name: write 'name: value'"]),
        ("a:\n  ? [b]\n  : 1\n", ["f.yaml:2: a: has a name that is no text: write 'name: value'"]),
        ('a: "\\x07"\n', ["f.yaml:1: a: holds an invisible character: delete it"]),
        ("a: 1\nb: \x00", ["f.yaml:2: holds an invisible character (U+0000): delete it"]),
        ("a: 1\u2028b: 2", ["f.yaml:1: holds an invisible character (U+2028): delete it"]),
        ("a: 1\nb: \ud800", ["f.yaml:2: holds half a character: type it again"]),
        (
            b"a: 1\nb: \xe9\n",
            ["f.yaml:2: holds a character that is not UTF-8: save the file as UTF-8"],
        ),
        ("a: 1\n".encode("utf-16"), ["f.yaml: is UTF-16: save it as UTF-8"]),
        (
            "a: &x 1\nb: *x\nc: !t d\ne: !u f\n",
            [
                "f.yaml:1: a: has an anchor (&x): take it out, or put the text in quotes",
                "f.yaml:2: b: has an alias (*x): write the value out, or put it in quotes",
                "f.yaml:3: c: has a tag (!t): take it out, or put the text in quotes",
                "f.yaml:4: e: has a tag (!u): take it out, or put the text in quotes",
            ],
        ),
        (
            "a: 1\nb:\n  c: 1\n  d: 2\n  c: 3\na: 4\n",
            [
                "f.yaml:5: b: 'c' is written twice, in line 3 and here: keep one",
                "f.yaml:6: 'a' is written twice, in line 1 and here: keep one",
            ],
        ),
        (
            "a:\nb: ~\nc: [null]\nd:\n  e:\n",
            [
                f"f.yaml:{place}: has no value: write one or take the line out"
                for place in ("1: a", "2: b", "3: c.1", "5: d.e")
            ],
        ),
    ],
)
def test_a_refusal_names_the_line_and_what_to_do(text: str | bytes, found: list[str]) -> None:
    assert problems(text) == found


@pytest.mark.parametrize("escape", ["\\q", "\\ud800", "\\U0011FFFF", "\\UFFFFFFFF", "\\"])
def test_an_escape_that_names_no_character(escape: str) -> None:
    assert len(problems(f'a: "{escape}"')) == 1


def test_a_directive_with_an_endless_number() -> None:
    assert len(problems(f"%YAML {'9' * 5000}.1\n---\na: 1")) == 1


def test_a_decimal_comma_never_falls_apart_in_silence() -> None:
    (cut,) = problems("a: [1,68, 2]")
    assert cut.startswith(
        "f.yaml:1: a: is cut in two at a comma: put a number with a decimal comma"
    )
    assert problems("a: {thick: 1,68 mm}") == [
        (
            "f.yaml:1: a.68 mm: has no value: "
            "within {} a number with a decimal comma needs quotes: '1,68 mm'"
        ),
    ]
    assert parse("a: [1, 68]\nb: ['1,68']\nc: 1,68", "f").data == {
        "a": ["1", "68"],
        "b": ["1,68"],
        "c": "1,68",
    }


def test_at_most_twenty_problems_are_listed() -> None:
    assert len(problems("a: 1\n" * 50)) == 20


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 100_000,
        "{a: " * 100_000,
        "a:\n- " + "- " * 100_000,
        "a: &a [x, x]\n" + "".join(f"b{n}: &b{n} [*a, *a]\n" for n in range(9)),
        "a: " + "x" * 2_000_000,
        "a: [" + "x, " * 200_000 + "]",
    ],
    ids=["brackets", "braces", "dashes", "bomb", "large", "many"],
)
def test_a_hostile_text_is_refused_quickly(text: str, request: pytest.FixtureRequest) -> None:
    begun = time.process_time()
    assert problems(text)
    slow_loader = "python" in request.node.name
    assert time.process_time() - begun < (30 if slow_loader else 3)


# Files that cannot be read.


def unread(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read(path)
    return str(caught.value).replace(str(path.parent), "shop")


def test_a_file_is_read_with_its_name(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_bytes(b"a: 1\n")
    assert read(path) == Source(str(path), {"a": "1"}, {(): 1, ("a",): 1})


def test_a_missing_file_is_told_the_nearest_name(tmp_path: Path) -> None:
    (tmp_path / "drum.yaml").touch()
    assert (
        unread(tmp_path / "durm.yaml")
        == "shop/durm.yaml: no such file: did you mean shop/drum.yaml?"
    )
    assert unread(tmp_path / "quite else") == "shop/quite else: no such file: check the name"
    assert unread(tmp_path / "no" / "f") == "shop/f: no such file: its folder cannot be listed"


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    assert unread(tmp_path / "jobs") == "shop/jobs: is a folder: name a file in it"


def test_a_file_of_ten_megabytes_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    path.write_bytes(b"a" * 10_000_000)
    assert unread(path) == "shop/big.yaml: is larger than 2 MB: check that it is the right file"


def test_a_file_without_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def forbid(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    (tmp_path / "f").touch()
    monkeypatch.setattr(Path, "open", forbid)  # the permission bits do not stop an administrator
    assert unread(tmp_path / "f") == (
        "shop/f: cannot be read (Permission denied): check the name and its permissions"
    )


def test_a_name_no_system_takes(tmp_path: Path) -> None:
    assert "cannot be read (embedded null byte)" in unread(tmp_path / "a\0b")
    assert "cannot be read (File name too long)" in unread(tmp_path / ("x" * 5000))
