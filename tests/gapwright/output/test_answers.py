"""Answers are declared once: their JSON, its schema, the API's description and the guide agree."""

from __future__ import annotations

import json
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest

from gapwright.__main__ import cli
from gapwright.demo import write_demo
from gapwright.guide.reference import answer_schema, answers, reference
from gapwright.output.answer_schema import mentioned, schema, sentences, title, types
from gapwright.output.answers import Answer, key, plain
from inventory import create_shelf
from specs.errors import InputError
from specs.values.lengths import Length

if TYPE_CHECKING:
    from collections.abc import Iterator

    import click

HOME = Path(__file__).parent.parent.parent.parent
SHELF = (
    "stock shelf unit.yaml --history low.csv --jobs 2 --lead-time 1 "
    "--shelf shelf.yaml --scenarios 20 --weeks 100 --workers 1"
)
EVERY = [*mentioned([one for classes in answers().values() for one in classes])]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("answers") / "demo"
    write_demo(folder)
    rows = (folder / "past.csv").read_text(encoding="utf-8-sig").splitlines()[:61]
    low = "".join(f"{row.split(',')[0]}\n" for row in rows)
    (folder / "low.csv").write_text(low, encoding="utf-8")
    return folder


@cache
def closed(verb: str) -> jsonschema.Draft202012Validator:
    """What holds a verb's answer against its schema, and takes no key beyond those declared."""
    told: dict[str, Any] = json.loads(answer_schema(verb))
    for one in told["$defs"].values():
        one["additionalProperties"] = False
    jsonschema.Draft202012Validator.check_schema(told)
    return jsonschema.Draft202012Validator(told)


@pytest.mark.parametrize(
    ("verb", "asked"),
    [
        ("fit", "fit job.yaml --why --best 2"),
        ("fit", "fit job-no-fit.yaml --why"),
        ("fit", "fit job.yaml --time 0"),
        ("check", "check job-built.yaml"),
        ("check history", "check --history job-built.yaml job.yaml"),
        ("cover", "cover job.yaml --gap low --alone --history past.csv"),
        ("tell", "tell --list pile.csv --unit unit.yaml"),
        ("tell", "tell 0.0691in 0.5in --unit unit.yaml --used"),
        ("batch", "batch job.yaml job-no-fit.yaml --budget 30 --workers 1"),
        ("stock kit", "stock kit unit.yaml --history low.csv --share 60"),
        ("stock kit", "stock kit unit.yaml --history low.csv --time 0"),
        ("stock shelf", f"{SHELF} --share 10"),
        ("stock shelf", f"{SHELF} --wait-cost 60"),
        ("kit check", "kit check kit.yaml --job job.yaml --history past.csv"),
    ],
)
def test_what_a_verb_prints_is_what_its_schema_says(
    demo: Path, verb: str, asked: str, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(demo)
    check(verb, asked.split(), capsys)


def test_what_the_ledgers_verbs_print_is_what_their_schemas_say(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(demo)
    monkeypatch.setenv("GAPWRIGHT_WHO", "mary")
    create_shelf(demo / "shop.db")
    check("shelf import", ["shelf", "import", "shop.db", "counter.csv", "--mode", "add"], capsys)
    check("shelf add", ["shelf", "add", "shop.db", "low ring", "M5", "2", "--bin", "K9"], capsys)
    for verb in ("reserve", "issue"):
        check("shelf add", ["shelf", verb, "shop.db", "low ring", "M5", "--job", "J-4"], capsys)
    recount = ["shelf", "import", "shop.db", "counter.csv", "--mode", "count", "--dry-run"]
    check("shelf import", recount, capsys)
    check("kit pack", ["kit", "pack", "kit.yaml", "--shelf", "shop.db"], capsys)
    check("fit", ["fit", "job.yaml", "--shelf", "shop.db", "--reserve"], capsys)
    check(
        "batch", ["batch", "job.yaml", "--shelf", "shop.db", "--reserve", "--workers", "1"], capsys
    )
    for verb in ("shelf list", "shelf history", "shelf verify"):
        check(verb, [*verb.split(), "shop.db"], capsys)


def check(verb: str, asked: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main([*asked, "--json"], standalone_mode=False) in (0, 3, 4)
    told = json.loads(capsys.readouterr().out)
    validator = closed(verb)
    validator.validate(told)
    with pytest.raises(jsonschema.ValidationError):
        validator.validate({**told, "unheard of": 1})


@pytest.mark.parametrize("answer", EVERY, ids=title)
def test_every_key_has_its_sentence(answer: type[Answer]) -> None:
    assert answer.__doc__
    for sentence in (" ".join(answer.__doc__.split()), *sentences(answer).values()):
        assert sentence.endswith("."), (title(answer), sentence)


def test_no_two_answers_have_one_name() -> None:
    assert len({title(one) for one in EVERY}) == len(EVERY) > 40


def with_json(command: click.Command, name: str) -> Iterator[str]:
    """The commands that print JSON where they are asked to, each by its name."""
    for word, below in getattr(command, "commands", {}).items():
        yield from with_json(below, f"{name} {word}".strip())
    if any("--json" in parameter.opts for parameter in command.params):
        yield name


def test_every_command_that_prints_json_declares_its_answer() -> None:
    assert {*with_json(cli, "")} <= answers().keys()


def test_the_guide_lists_the_answers_as_they_are_declared() -> None:
    written = (HOME / "gapwright" / "guide" / "answers.md").read_text(encoding="utf-8")
    assert written == "\n".join(reference())


def test_the_schema_of_all_verbs_holds_that_of_each() -> None:
    every = json.loads(answer_schema())["$defs"]
    for verb in answers():
        assert json.loads(answer_schema(verb))["$defs"].items() <= every.items()


def test_a_verb_there_is_none_of_is_refused() -> None:
    with pytest.raises(InputError, match='did you mean "fit"'):
        cli.main(["schema", "answer", "fti"], standalone_mode=False)
    with pytest.raises(InputError, match="write: gapwright schema job"):
        cli.main(["schema", "job", "fit"], standalone_mode=False)


def test_an_answer_in_words_builds_no_schema(demo: Path) -> None:
    """Nothing of it is loaded for a terminal, nor for JSON."""
    script = (
        "import sys; from gapwright.__main__ import cli\n"
        f"job = {str(demo / 'job.yaml')!r}\n"
        "for more in ([], ['--json']):\n"
        "    assert cli.main(['fit', job, *more], standalone_mode=False) == 0\n"
        "assert 'gapwright.output.answers' in sys.modules\n"
        "assert 'gapwright.output.answer_schema' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", script], cwd=HOME, check=True, capture_output=True)


class ThingAnswer(Answer, shape="thing 1"):
    """A thing."""

    name: str
    """Its name."""
    mark: str | None = key(lambda thing: thing.real)
    """Empty here."""
    count_: int = key(lambda count: count + 1)
    """One more than stands beside it."""
    wide_by: Length = key(lambda thing, count: Length(thing.denominator) * count / 3)
    """A third of the count."""
    told: list[str] | None = key(lambda thing: None, left_out=True)  # noqa: ARG005 - nothing of it
    """Left out."""


def test_a_key_is_read_from_its_subject_or_from_what_stands_beside() -> None:
    thing = ThingAnswer(7, name="x", count=2)
    assert (thing.name, thing.count_, thing.wide_by * 3) == ("x", 3, Length(2))
    assert plain(thing, "in") == {
        "shape": "thing 1",
        "name": "x",
        "mark": 7,
        "count": 3,
        "wide by": {"nm": "2/3", "shown": "0.000 in"},
    }
    assert [*ThingAnswer.keys] == [*types(ThingAnswer)]
    assert "told" not in schema([ThingAnswer])["$defs"]["Thing"]["required"]
    with pytest.raises(KeyError, match="count"):
        _ = ThingAnswer(7, name="x").wide_by


def refs_in(node: Any) -> Iterator[str]:  # noqa: ANN401 - JSON
    if isinstance(node, dict):
        yield from [node["$ref"]] if "$ref" in node else []
        node = [*node.values()]
    for one in node if isinstance(node, list) else ():
        yield from refs_in(one)


def test_the_api_is_described_by_the_same_answers(demo: Path) -> None:
    pytest.importorskip("fastapi")
    from gapwright.web.start import open_shop

    app, _ = open_shop(demo)
    told = app.openapi()
    held = told["components"]["schemas"]
    found = json.dumps(json.loads(answer_schema("check"))["$defs"]["MeasuredGap"])
    assert held["MeasuredGap"] == json.loads(found.replace("$defs", "components/schemas"))
    assert {ref.removeprefix("#/components/schemas/") for ref in refs_in(told)} <= held.keys()


def test_a_page_is_opened_without_describing_its_api(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("fastapi")
    from gapwright.web import start

    asked: list[str] = []

    def schemas() -> dict[str, Any]:
        asked.append("described")
        return {"Asked": {}}

    monkeypatch.setattr(start, "schemas", schemas)
    app, _ = start.open_shop(demo)
    assert asked == []
    assert "Asked" in app.openapi()["components"]["schemas"]
    assert "Asked" in app.openapi()["components"]["schemas"]
    assert asked == ["described"]
