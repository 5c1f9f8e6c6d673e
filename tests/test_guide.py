"""The guide is true: followed from top to bottom, every command does what its page says."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gapwright import InputError, fit_job, render
from gapwright.__main__ import cli
from gapwright.cli.batch import batch
from gapwright.cli.serve import serve
from gapwright.cli.shelf import shelf
from gapwright.cli.stock import stock
from gapwright.demo import write_demo
from gapwright.guide.pages import PAGES, as_html, page
from tests.commands import HOME, ran, refused
from tests.documents import GUIDE, Block, followed, of, shown

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import click

BENCH = GUIDE / "bench.md"

MAY_END = {  # other codes than 0, each with the command that may end so
    "3": ("gapwright batch week.csv", "gapwright check drum.yaml"),
    "4": ("gapwright stock",),
}
TODAY = re.compile(r"\b20[0-9]{2}-[0-9]{2}-[0-9]{2}\b")
SAYS = {
    "bench": (
        "FITS, proved best",
        "promised, kept in drum.yaml: ",
        "drum.html: bench sheet",
        "thin, 100 % sure",
    ),
    "shop": (
        "31 lots received",
        "2 received; 4 on hand",
        "reserved for J-1042: ",
        "the chain holds",
        "J-1042                  Harrow 4  taken",
        "J-1042, Harrow 4: CLOSED on ",
        "J-1107.yaml: written, with what was built in J-1042",
        " of 3 jobs can be completed, proved best",
        "of 160 drums clear of their limits, 144 were asked for",
        "COVERS ALL IT IS FOR",
        "kit.html: kit sheet of Harrow 4 overhaul kit",
        "parts drawn for",
    ),
    "scripts": ("low 1.184 mm", "J-1042, Harrow 4: FITS, proved best"),
}


@pytest.mark.parametrize("name", SAYS)
def test_a_page_may_be_followed_from_top_to_bottom(name: str, tmp_path: Path) -> None:
    write_demo(tmp_path / "gapwright-demo")
    told = followed(GUIDE / f"{name}.md", tmp_path)
    for code, command in re.findall(r"^\[exit (\d+) of (.*)\]$", text_of(told), re.MULTILINE):
        assert command.startswith(MAY_END.get(code, ("nothing",))), text_of(told)
    for said in SAYS[name]:
        assert said in text_of(told)
    for nth, printed in shown(GUIDE / f"{name}.md").items():
        assert TODAY.sub("2031-04-02", told[nth][1]).startswith(printed)


def text_of(told: list[tuple[Block, str]]) -> str:
    return "".join(printed for _, printed in told)


def test_every_page_is_listed_printed_and_turned_into_html() -> None:
    listed = ran("guide").stdout
    assert max(map(len, listed.splitlines())) <= 80
    for name, what in PAGES.items():
        assert f"gapwright guide {name}" in listed
        assert what in listed
        assert ran("guide", name).stdout.rstrip("\n") == page(name).rstrip("\n")
        assert as_html(page(name)).startswith("<h1>")


def test_an_unknown_page_is_refused_with_those_there_are() -> None:
    assert refused("guide", "benches") == [
        'gapwright guide: found "benches"; the pages are ' + ", ".join(PAGES)
    ]


def test_links_between_pages_lead_to_pages_and_markup_stays_text() -> None:
    text = as_html(
        "# A\n\n[files](files.md), [out](other.md) <b>bold</b> `<i>`\n\n| a |\n|---|\n| b |\n"
    )
    assert 'href="/guide/files"' in text
    assert 'href="other.md"' in text
    assert "&lt;b&gt;bold" in text
    assert "<td>b</td>" in text


def test_links_of_the_pages_lead_to_pages() -> None:
    for name in PAGES:
        for target in re.findall(r"\]\(([^)]+)\)", page(name)):
            assert target.removesuffix(".md").partition("#")[0] in {*PAGES, ""}


def test_the_guides_drum_and_its_answer_are_the_readmes() -> None:
    readme = HOME / "README.md"
    assert of(BENCH, "yaml")[0] == of(readme, "yaml")[0]
    assert shown(BENCH)[1] == shown(readme)[1]


@pytest.fixture
def drum(tmp_path: Path) -> Path:
    path = tmp_path / "drum.yaml"
    path.write_text(of(BENCH, "yaml")[0], encoding="utf-8")
    return path


def test_every_way_to_say_the_heat_of_a_pack_is_taken(drum: Path) -> None:
    written, ways = drum.read_text(encoding="utf-8"), re.findall(r"`(heat: \{.*\})`", page("bench"))
    assert len(ways) == 2
    for heat in ways:
        drum.write_text(written.replace("      stack:", f"      {heat}\n      stack:"), "utf-8")
        assert "hottest drum steel thin (number 3)" in render(fit_job(drum))


def test_the_sections_may_be_moved_into_files_of_their_own(drum: Path) -> None:
    text = drum.read_text(encoding="utf-8")
    unit, shelf, job = (text.index(f"\n{name}:") for name in ("unit", "shelf", "job"))
    length = text[:unit] + "\n"
    (drum.parent / "unit.yaml").write_text(length + text[unit + 1 : shelf], encoding="utf-8")
    (drum.parent / "shelf.yaml").write_text(length + text[shelf + 1 : job], encoding="utf-8")
    names = "unit: unit.yaml\nshelf: shelf.yaml\n"
    apart = drum.parent / "job.yaml"
    apart.write_text(length + names + text[job + 1 :], encoding="utf-8")
    assert render(fit_job(apart)) == render(fit_job(drum))


def test_what_belongs_together_is_held_against_what_was_found(drum: Path) -> None:
    (sets,) = [text for text in of(BENCH, "yaml") if "belongs together" in text]
    (found,) = re.findall(r"`(found: {.*?})`", page("bench"))
    text = drum.read_text(encoding="utf-8").replace("  packs:\n", sets + "  packs:\n")
    drum.write_text(text.replace("job:\n", f"job:\n  {found}\n"), encoding="utf-8")
    (would,) = re.findall(r"would: (.*)", sets)
    with pytest.raises(InputError, match=would):
        fit_job(drum)


def test_the_pile_is_sorted(drum: Path) -> None:
    (drum.parent / "pile.csv").write_text(of(BENCH, "csv")[0], encoding="utf-8")
    (line,) = re.findall(r"`gapwright (tell --list .*)`", page("bench"))
    asked = ran(*line.split(), cwd=drum.parent)
    assert "counts.csv" in asked.stdout, asked.stderr


@pytest.mark.parametrize(
    ("name", "command"), [("bench", serve), ("shop", shelf), ("shop", stock), ("shop", batch)]
)
def test_every_option_named_beside_a_verb_is_offered(name: str, command: click.Command) -> None:
    assert command.name
    offered = set(options_of(command))
    pattern = rf"gapwright {command.name} [^`\n]*"
    named = {word for line in re.findall(pattern, page(name)) for word in OPTION.findall(line)}
    assert named <= offered
    assert named or command is serve


OPTION = re.compile(r"(?<![\w-])--[a-z][a-z-]*")


def test_every_option_of_the_guide_is_one_of_some_verb() -> None:
    offered = {option for verb in cli.commands.values() for option in options_of(verb)}
    for name in ("bench", "shop", "scripts"):
        assert set(OPTION.findall(page(name))) <= offered


def options_of(command: click.Command) -> Iterator[str]:
    """Every option of a command and of those below it."""
    yield from (option for parameter in command.params for option in parameter.opts)
    for below in getattr(command, "commands", {}).values():
        yield from options_of(below)


def test_every_verdict_explained_is_one_that_is_given() -> None:
    faces = (HOME / "gapwright" / "fit" / name for name in ("text.py", "conformance_text.py"))
    words = "".join(face.read_text(encoding="utf-8") for face in faces)
    verdicts = re.findall(r"^- \*\*([A-Z ]{4,})\b", page("bench"), flags=re.MULTILINE)
    assert len(verdicts) > 4
    assert all(verdict.strip() in words for verdict in verdicts)
