"""One value of a YAML text changed: the data as wanted, every other byte the same."""

from __future__ import annotations

import json
import re
from typing import Any, TypeAlias

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from specs.errors import InputError
from specs.formats.yaml import parse
from specs.formats.yaml_edit import with_value, with_values
from tests.amounts import times

Draw: TypeAlias = Any
Data: TypeAlias = Any
OPEN, CLOSE = "\x01", "\x02"  # around the entry that a path leads to, while a text is drawn
NAMES = ["name", "gap 1", ".0700", "größe", "a.b", "on", "two  blanks", "x: y", "0.5"]
VALUES = ["1", ".0700", "no", "0.0680 in", "12:30", "été 😀", "a, b", "it's", 'a "b"', "# no", ""]
MOST = 100

tables = settings(suppress_health_check=[HealthCheck.too_slow], max_examples=times(2_400))
texts = st.sampled_from(VALUES) | st.text(
    st.characters(categories=["L", "N", "P", "S", "Zs"], exclude_characters="\ufeff"), max_size=30
)
words = st.lists(texts, min_size=20, max_size=30).map(" ".join)
new_values = st.recursive(
    texts | words,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(NAMES) | texts.map(str.strip).filter(bool), inner, max_size=4
        )
    ),
    max_leaves=12,
)


def quoted(draw: Draw, text: str) -> str:
    """A text in one of the ways in which a person writes it."""
    ways = [json.dumps(text, ensure_ascii=False), "'" + text.replace("'", "''") + "'"]
    if text and text[0].isalnum() and not set(text) & set(":#,[]{}\"'"):
        ways.append(text)
    return str(draw(st.sampled_from(ways)))


def remark(draw: Draw) -> str:
    return str(draw(st.sampled_from(["", "", "  # said: on the\tphone", " #{x: 1}", "\t\t# tabs"])))


def gap(draw: Draw) -> str:
    """Nothing, or lines that hold no value."""
    return str(draw(st.sampled_from(["", "", "", "\n", "# a: remark\n", "   # deep\n\n"])))


Path: TypeAlias = tuple[str | int, ...]


def below(path: Path, name: str | int) -> Path:
    return path[1:] if path[:1] == (name,) else ()


def in_braces(draw: Draw, tree: Data, path: Path, column: int) -> str:
    if isinstance(tree, str):
        return quoted(draw, tree)
    breaks = st.sampled_from(["", "", " ", f"\n{' ' * column}", f" # c, d\n{' ' * column}"])
    if isinstance(tree, list):
        texts = [in_braces(draw, item, below(path, n), column) for n, item in enumerate(tree)]
        if path and path[1:] == ():
            texts[int(path[0])] = f"{OPEN}{texts[int(path[0])]}{CLOSE}"
        return f"[{', '.join(texts)}]"
    entries = []
    for name, item in tree.items():
        rest = below(path, name)
        entry = f"{quoted(draw, name)}: {in_braces(draw, item, rest, column)}"
        entries.append(draw(breaks) + (f"{OPEN}{entry}{CLOSE}" if path == (name,) else entry))
    end = draw(breaks)
    return f"{{{','.join(entries)}{end}}}"


def in_lines(draw: Draw, tree: Data, path: Path, column: int) -> str:
    """The lines of a mapping or list that is not empty, in block style."""
    out, blank = "", " " * column
    if isinstance(tree, list):
        for nth, item in enumerate(tree):
            start, end = (OPEN, CLOSE) if path == (nth,) else ("", "")
            out += f"{gap(draw)}{blank}- {start}"
            if isinstance(item, dict) and item and not start and draw(st.booleans()):
                out = out.rstrip(" ") + "\n" + in_lines(draw, item, below(path, nth), column + 2)
            else:
                inner = in_braces(draw, item, below(path, nth), column + 2)
                out += f"{inner}{end}{remark(draw)}\n"
        return out
    for name, item in tree.items():
        rest = below(path, name)
        start, end = (OPEN, CLOSE) if path == (name,) else ("", "")
        out += gap(draw) + start + blank + quoted(draw, name) + ":"
        if isinstance(item, str) and item.isalnum() and draw(st.booleans()):
            style = draw(st.sampled_from(["|", ">", "|-", "|+"]))
            out += f" {style}\n{blank}    {item}{end}\n" + draw(st.sampled_from(["", "", "\n"]))
        elif isinstance(item, str) or not item or draw(st.booleans()):
            parted = draw(st.sampled_from([" ", " ", "  ", f"\n{blank}   "]))
            inner = in_braces(draw, item, rest, column + 3)
            out += parted + inner + end + remark(draw) + "\n"
        else:
            deeper = draw(st.integers(0 if isinstance(item, list) else 1, 4))
            inner = in_lines(draw, item, rest, column + deeper)
            out += remark(draw) + "\n" + inner.removesuffix("\n") + end + "\n"
    return out


trees = st.recursive(
    st.sampled_from(VALUES),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(NAMES), inner, max_size=4)
    ),
    max_leaves=14,
)


@st.composite
def files(draw: Draw) -> tuple[str, Path, tuple[int, int]]:
    """A text, a path in it, and where the path's entry stands, (0, 0) where it is absent."""
    tree = draw(st.dictionaries(st.sampled_from(NAMES), trees, min_size=1, max_size=4))
    path: Path = ()
    inner: Any = tree
    while isinstance(inner, dict | list):
        if isinstance(inner, dict) and (not inner or draw(st.integers(0, 3)) == 0):
            path += ("promised",)
            break
        if not inner:
            break
        names: list[Any] = sorted(inner) if isinstance(inner, dict) else [*range(len(inner))]
        path += (draw(st.sampled_from(names)),)
        inner = inner[path[-1]]  # type: ignore[index]
        if draw(st.booleans()):
            break
    braces = draw(st.integers(0, 4)) == 0
    text = in_braces(draw, tree, path, 1) + "\n" if braces else in_lines(draw, tree, path, 0)
    text = draw(st.sampled_from(["", "", "---\n", "# top: of it\n\n"])) + text
    text += draw(st.sampled_from(["", "", "# end", "...\n"]))
    if draw(st.booleans()):
        text = text.rstrip("\n")
    text = draw(st.sampled_from(["", "\ufeff"])) + text.replace(
        "\n", draw(st.sampled_from(["\n", "\r\n", "\r"]))
    )
    start = text.find(OPEN)
    end = text.find(CLOSE) - 1
    text = text.replace(OPEN, "").replace(CLOSE, "")
    return text, path, (start, end) if start >= 0 else (0, 0)


def wanted(tree: Data, path: Path, value: Data) -> Data:
    name, *rest = path
    if isinstance(tree, list):
        new = wanted(tree[int(name)], tuple(rest), value) if rest else value
        return [new if nth == name else item for nth, item in enumerate(tree)]
    left = {key: item for key, item in tree.items() if key != name or rest or value is not None}
    if rest:
        return {**left, name: wanted(tree[name], tuple(rest), value)}
    return left if value is None else {**left, name: value}


def shared(one: str, two: str) -> int:
    """How many characters two texts begin with alike."""
    return next(
        (n for n, (a, b) in enumerate(zip(one, two, strict=False)) if a != b),
        min(len(one), len(two)),
    )


def changed(before: str, after: str) -> tuple[str, str]:
    """What was taken out of a text in one place and what was put there."""
    start = shared(before, after)
    end = min(shared(before[::-1], after[::-1]), min(len(before), len(after)) - start)
    return before[start : len(before) - end], after[start : len(after) - end]


def edited(text: str, path: Path, value: Data) -> str | None:
    try:
        return with_values(text, {path: value}, "f.yaml")
    except InputError:
        return None


@given(files(), st.none() | new_values)
@tables
def test_the_data_are_as_wanted_and_every_other_byte_is_the_same(
    file: tuple[str, Path, tuple[int, int]], value: Data
) -> None:
    text, path, (start, end) = file
    if isinstance(path[-1], int) and not isinstance(value, str):
        value = "an item of a list is replaced by a text alone"
    try:
        tree = parse(text, "f.yaml").data
    except InputError:
        event("no file of ours")
        return
    new = edited(text, path, value)
    if not new:  # a line break at the end of a block of text belongs to the text
        assert re.search(r"[|>]", text)
        event("refused")
        return
    assert parse(new, "f.yaml").data == wanted(tree, path, value)
    there = start < end
    event("removed" if value is None and there else "replaced" if there else "added")
    if remark := re.match(r"[ \t]*#[^\r\n]*", text[end:]):
        # In the line of the entry: it goes with an entry, and stays in the line of a new value.
        end += remark.end()
        assert value is None or remark[0] in new
    # What else stands before and after is there still; only a comma or a break may go along.
    before, after = text[:start].rstrip(", \r\n"), text[end:].lstrip(", \r\n")
    if there:
        assert new.startswith(before)
        assert new.endswith(after)
        assert len(new) >= len(before) + len(after)
    else:
        out, put = changed(text, new)
        assert not out
        assert bool(put) == (value is not None)


PROMISE = {
    "on": "2031-04-02",
    "gaps": {"low drum": {"parts": ["thin", "thick", "0.0700"], "gap": "0.0680 in"}},
    "takes": [{"family": "drum ring", "size": "0.0700", "count": 1}],
}


def promised(text: str, value: Data = PROMISE) -> str:
    return with_value(text, ("job", "promised"), value, "f.yaml")


def test_a_new_value_is_indented_as_its_section_is() -> None:
    assert promised("job:\n    name: J-1\n    gaps:\n        low: 1  # as read\n") == (
        "job:\n    name: J-1\n    gaps:\n        low: 1  # as read\n"
        "    promised:\n"
        "        on: 2031-04-02\n"
        "        gaps:\n"
        "            low drum: {parts: [thin, thick, 0.0700], gap: 0.0680 in}\n"
        "        takes:\n"
        "            - {family: drum ring, size: 0.0700, count: 1}\n"
    )


def test_a_new_value_in_braces_is_written_in_braces() -> None:
    assert promised("job: {name: J-1}", {"on": "1"}) == "job: {name: J-1, promised: {on: 1}}"
    assert promised("unit: {}\njob: {name: J-1} # c\n") == (
        "unit: {}\njob: {name: J-1,\n"
        "  promised: {\n"
        "    on: 2031-04-02,\n"
        "    gaps: {low drum: {parts: [thin, thick, 0.0700], gap: 0.0680 in}},\n"
        "    takes: [{family: drum ring, size: 0.0700, count: 1}]\n"
        "  }} # c\n"
    )


def test_remarks_stay_where_they_are() -> None:
    text = "job:\n  promised:  # said\n    # hand\n    on: 1\n  # after\n  name: J-1\n"
    assert promised(text, {"on": "2"}) == (
        "job:\n  promised: {on: 2}  # said\n    # hand\n  # after\n  name: J-1\n"
    )
    assert promised("job:\n  name: J-1\n    # of the name\n# end\n", "x") == (
        "job:\n  name: J-1\n    # of the name\n  promised: x\n# end\n"
    )
    assert promised("job: {name: J-1, # c\n promised: 1 # d\n}", None) == (
        "job: {name: J-1, # c\n  # d\n}"
    )


@pytest.mark.parametrize("end", ["", "\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize(
    "text", ["job:\n  name: J-1", "job: {name: J-1}", "job:\n  a: {b: 1,\n   c: 2}"]
)
def test_what_was_put_there_can_be_taken_out_again(text: str, mark: str, end: str) -> None:
    text = mark + text.replace("\n", end or "\n") + end
    for value in ("x", {"on": "1"}):
        assert promised(promised(text, value), None) == text


def test_several_values_are_changed_at_once() -> None:
    text = (
        "\ufeffshelf:\r\n  ring: {A: 2, B: {count: 4, reserved: {J-1: 1}}} # c\r\n  steel: [1, 2]"
    )
    changes: dict[Path, Data] = {
        ("shelf", "ring", "A"): 1,
        ("shelf", "ring", "B", "count"): 3,
        ("shelf", "ring", "B", "reserved"): None,
        ("shelf", "steel", 1): 20,
        ("shelf", "shim"): "7",
    }
    assert with_values(text, changes, "f.yaml") == (
        "\ufeffshelf:\r\n  ring: {A: 1, B: {count: 3}} # c\r\n  steel: [1, 20]\r\n  shim: 7"
    )
    assert with_values(text, {}, "f.yaml") == text


def test_the_only_value_of_a_section_leaves_an_empty_one() -> None:
    assert promised("job:  # c\n  promised: 1\nunit: 2", None) == "job:  # c\n  {}\nunit: 2"
    assert with_value("job: 1\n", ("job",), None, "f") == "{}\n"


@pytest.mark.parametrize(
    "text", ["job:\n  name: J-1\n", "job: {name: J-1}\n", "{job: {name: J-1}}"]
)
def test_new_lines_are_within_100_columns(text: str) -> None:
    word = "Lorem,ipsum:"
    value: dict[str, Data] = {f"name {n}": [word] * n for n in range(12)}
    value["note"] = " ".join([word] * 40)
    value["deep"] = {"x": [{word * 2: [word] * 3, "y": " ".join([word] * n)} for n in range(20)]}
    assert max(map(len, promised(text, value).splitlines())) <= MOST
    assert max(map(len, promised(text, " ".join([word] * 90)).splitlines())) <= MOST
    assert max(map(len, promised(promised(text, "x"), value).splitlines())) <= MOST


def refused(text: str, path: tuple[str, ...], value: Data) -> str:
    with pytest.raises(InputError) as caught:
        with_value(text, path, value, "f.yaml")
    return str(caught.value)


def test_what_cannot_be_proved_is_refused_with_what_to_write() -> None:
    kept = "job:\n  note: |+\n    x\n\n\n"
    assert refused(kept, ("job", "promised"), {"on": "1"}) == (
        "f.yaml:1: job.promised: cannot be changed with all else kept as it is; "
        "by hand write promised: {on: 1}"
    )
    last = "job:\n  note: |\n    x\n  promised: 1"
    assert "by hand take it out" in refused(last, ("job", "promised"), None)


def test_a_section_that_is_missing_is_named() -> None:
    found = refused("unit: 1\n", ("job", "promised"), "x")
    assert found == "f.yaml:1: job.promised: there is no section to write this in: add it"
    assert "no section" in refused("job: 1\n", ("job", "promised"), "x")


@pytest.mark.parametrize("text", ["job: &a {name: 1}\n", "a: &x 1\njob: {name: *x}\n", "job:\n"])
def test_what_no_file_of_ours_holds_is_refused(text: str) -> None:
    assert refused(text, ("job", "promised"), "x").startswith("f.yaml:")
