"""The record of a job goes out to a file or a ledger and comes back the very same."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from specs.errors import InputError
from specs.files.digest import made_from, record_code
from specs.files.notes import closed_in, note_text, promised_in
from specs.files.parse import parse_file
from specs.formats.yaml import parse
from specs.formats.yaml_text import written
from specs.models.record import Closed, Correction, Promised, PromisedGap, Taken, plain
from specs.values.lengths import NANOMETRES, Length, LengthError, exact, parse_exact
from tests.specs.drums import DRUM, problems, swapped, taken

if TYPE_CHECKING:
    from specs.models.job import Job
    from specs.values.lengths import LengthUnit

UNITS = st.sampled_from(["in", "mm", "thou"])
LENGTHS = st.builds(
    lambda top, below: Length(Fraction(top, below)),
    st.one_of(st.integers(-(10**12), 10**12), st.integers(-(10**6), 10**6).map(lambda n: n * 254)),
    st.sampled_from([1, 1, 2, 3, 7, 24, 1000]),
)
WORDS = st.text(
    st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=12
).filter(lambda text: text == text.strip() and text)
DAYS = st.dates().map(lambda day: day.isoformat())
TAKEN = st.builds(
    Taken.model_construct,
    family=WORDS,
    size=WORDS,
    bin=st.none() | WORDS,
    count=st.integers(0, 999_999),
    thickness=st.none() | LENGTHS,
    condition=st.sampled_from(["new", "used"]),
    lot=st.none() | WORDS,
    code=st.none() | WORDS,
)
GAPS = st.builds(
    PromisedGap.model_construct,
    layout=WORDS,
    parts=st.lists(st.lists(WORDS, max_size=3).map(tuple), max_size=4).map(tuple),
    gap=LENGTHS,
    u=LENGTHS,
    sure=st.integers(0, 1_000_000).map(lambda n: Fraction(n, 10_000)),
    space=LENGTHS,
)
LOTS = st.lists(TAKEN, max_size=3).map(tuple)
PROMISES = st.builds(
    Promised.model_construct,
    on=DAYS,
    job=WORDS,
    unit=WORDS,
    answer=WORDS,
    from_=WORDS,
    gaps=st.dictionaries(WORDS, GAPS, max_size=3),
    takes=LOTS,
)
CORRECTIONS = st.builds(Correction.model_construct, on=DAYS, by=WORDS, why=WORDS)
CLOSINGS = st.builds(
    Closed.model_construct,
    on=DAYS, by=WORDS, record=WORDS, used=LOTS, back=LOTS,
    corrected=st.lists(CORRECTIONS, max_size=2).map(tuple),
)  # fmt: skip


def kept(promise: Promised) -> Promised:
    """The promise under its own code."""
    return promise.model_copy(update={"answer": promise.code})


def job_in(text: str) -> Job:
    """The job of a file, of which nothing but its record is written."""
    parsed = parse_file(parse(text, "job.yaml"))
    assert not parsed.problems
    assert parsed.file.job is not None
    return parsed.file.job


@given(LENGTHS, UNITS)
def test_an_exact_length_reads_back_the_very_same(length: Length, unit: LengthUnit) -> None:
    text = exact(length, unit)
    assert parse_exact(text) == length
    number, _, name = text.partition(" ")
    decimal, _, below = number.partition("/")
    scale = NANOMETRES[name]  # type: ignore[index]
    assert Fraction(decimal) * scale / int(below or 1) == length.nm  # told without the parser


@pytest.mark.parametrize(
    ("length", "unit", "text"),
    [
        (Length(1_727_200), "in", "0.068 in"),
        (Length(1_727_200), "mm", "1.7272 mm"),
        (Length(Fraction(5_207_000, 3)), "in", "0.205/3 in"),
        (Length(-50_800), "thou", "-2 thou"),
        (Length(1_727_201), "in", "1.727201 mm"),
        (Length(0), "in", "0 in"),
    ],
)
def test_an_exact_length_is_written_as_a_person_would(
    length: Length, unit: LengthUnit, text: str
) -> None:
    assert exact(length, unit) == text


@pytest.mark.parametrize("text", ["0.068", ".068 in", "0.068 um", "1 in/3", "1/0 in", "a" * 300])
def test_what_is_no_exact_length_is_refused(text: str) -> None:
    with pytest.raises(LengthError, match="exact length"):
        parse_exact(text)


@given(PROMISES, CLOSINGS, UNITS)
def test_a_record_comes_back_from_a_file_and_a_note(
    promise: Promised, closed: Closed, unit: LengthUnit
) -> None:
    promise = kept(promise)
    data = {"job": {"promised": plain(promise, unit), "closed": plain(closed, unit)}}
    job = job_in(written(data))
    assert job.promised == promise
    assert job.closed == closed
    assert not job.promised.edited
    assert promised_in(note_text(promise, unit), "shop.db") == promise
    assert closed_in(note_text(closed, unit), "shop.db") == closed


@given(PROMISES, UNITS, st.data())
def test_a_promise_changed_in_any_figure_is_noticed(
    promise: Promised, unit: LengthUnit, data: st.DataObject
) -> None:
    held = plain(kept(promise), unit)
    path = data.draw(st.sampled_from([*paths_to_text(held, ())]))
    node: Any = held
    for key in path[:-1]:
        node = node[key]
    node[path[-1]] = {"new": "used", "used": "new"}.get(node[path[-1]]) or changed(node[path[-1]])
    with pytest.raises(InputError, match="was changed outside"):
        promised_in(json.dumps(held), "shop.db")


def paths_to_text(node: Any, path: tuple[Any, ...]) -> Any:  # noqa: ANN401 - plain data
    """The path of each value that the code covers."""
    items: Any = node.items() if isinstance(node, dict) else enumerate(node)
    for key, value in items:
        if isinstance(value, dict | list):
            yield from paths_to_text(value, (*path, key))
        elif (*path, key) != ("on",):
            yield *path, key


def changed(value: str | int) -> str | int:
    """Another value that can stand in its place."""
    if isinstance(value, int):
        return value + 1 if value < 999_999 else 0
    if value.endswith((" in", " mm", " thou")) and "/" not in value:
        return "123456.5 mm"
    if value.endswith(" %"):
        return "12.3456 %" if value != "12.3456 %" else "1 %"
    return f"{value}x" if "/" not in value else value.replace("/", "1/")


PROMISE = Promised.model_construct(
    on="2031-04-02",
    job="job",
    unit="unit",
    answer="",
    from_="4C2D-88QF-0XTR",
    gaps={
        "low drum": PromisedGap.model_construct(
            layout="low drum",
            parts=(("thin",), ("thick",), ("thick",), (".0700",)),
            gap=Length(1_727_200),
            u=Length(40_640),
            sure=Fraction("99.9"),
            space=Length(20_000_000),
        )
    },
    takes=(Taken.model_construct(family="drum ring", size=".0700", bin=None, count=1,
                                 thickness=None, condition="new", lot=None, code=None),),
)  # fmt: skip


def promised(**changes: str) -> str:
    """The drum with a promise, some values of which stand for themselves."""
    data = plain(kept(PROMISE), "in")
    data["gaps"]["low drum"]["layout"] = layout_name()
    again = job_in(written({"job": {"promised": data}})).promised
    assert again is not None
    data["answer"] = again.code
    section = yaml.safe_dump(
        {"promised": data}, sort_keys=False, default_flow_style=True, width=9999
    )
    text = section.strip().removeprefix("{").removesuffix("}")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    return f"{DRUM}  {text}\n"


def layout_name() -> str:
    return next(iter(taken(DRUM).unit.gaps["low drum"].arrangements))


def test_a_job_with_its_promise_is_taken() -> None:
    job = taken(promised()).job
    assert job.promised is not None
    assert job.promised.gaps["low drum"].gap == Length(1_727_200)
    assert job.promised.takes[0].count == 1


def test_a_promise_edited_by_hand_is_told() -> None:
    told = problems(promised(**{"0.068 in": "0.069 in"}))
    assert len(told) == 1
    assert told[0].startswith('19: job.promised.answer: found "')
    assert told[0].endswith(
        '"; what stands here was changed by hand: take `promised` out of the file, and keep an '
        "answer with `gapwright fit --promise`"
    )


def test_the_promise_of_another_job_is_told() -> None:
    (told,) = problems(swapped(promised(), ("job:\n", "job:\n  name: J-8\n")))
    assert told == (
        '20: job.promised.job: found "job"; this job is called "J-8", so this is the promise of '
        "another: take `promised` out of the file, and keep an answer with `gapwright fit "
        "--promise`"
    )


def test_a_figure_that_cannot_be_read_is_told_and_no_more() -> None:
    (told,) = problems(promised(**{"0.068 in": "0.068"}))
    assert told == (
        "19: job.promised.gaps.low drum.gap: '0.068' is no exact length: write one like 0.068 in "
        "or 0.205/3 in"
    )


def test_a_promised_gap_that_the_unit_lacks_is_told() -> None:
    text = swapped(promised(), ("low drum:\n      window", "high drum:\n      window"))
    text = swapped(text, ("low drum: {trial", "high drum: {trial"))
    (told,) = problems(text)
    assert told == (
        "19: job.promised.gaps.low drum: unit has no such gap any more; take `promised` out of "
        "the file, and keep an answer with `gapwright fit --promise`"
    )


def test_promised_parts_that_the_unit_lacks_are_told() -> None:
    (told,) = problems(swapped(promised(), ("[.0600, .0700, .0780]", "[.0600, .0740, .0780]"),
                               (".0700: 1, ", "")))  # fmt: skip
    assert told.startswith('19: job.promised.gaps.low drum.parts: found ".0700"; the sizes of')
    assert told.endswith("keep an answer with `gapwright fit --promise`")


def test_the_code_of_files_leaves_out_the_record_and_the_shelf() -> None:
    code = made_from(taken(DRUM))
    assert code == made_from(taken(promised()))
    as_built = swapped(DRUM, ("gap: .041}", "gap: .041, as built: .068}"))
    assert code == made_from(taken(as_built))
    assert code == made_from(taken(swapped(DRUM, ("thick: 5", "thick: 4"))))
    assert code == made_from(taken(f"{DRUM}  closed: {{on: 2031-04-09, by: JM, record: A}}\n"))
    swaps = [(".041", ".042"), (".0690", ".0680"), ("job:", "job:\n  note: towed in")]
    others = {made_from(taken(swapped(DRUM, swap))) for swap in swaps}
    assert len(others) == len(swaps)
    assert code not in others


def test_the_code_of_a_record_is_that_of_all_that_was_read_built_and_promised() -> None:
    case = taken(promised())
    promise = case.job.promised
    code = record_code(case, promise)
    closed = f"{promised()}  closed: {{on: 2031-04-09, by: J, record: A}}\n"
    assert code == record_code(taken(closed), promise)
    assert code == record_code(taken(DRUM), promise)  # as a ledger keeps it
    assert code == record_code(taken(swapped(promised(), ("thick: 5", "thick: 4"))), promise)
    built = taken(swapped(promised(), ("gap: .041}", "gap: .041, as built: .068}")))
    others = {record_code(case, None), record_code(built, promise), code}
    assert len(others) == 3
