"""The guide is true: followed from top to bottom, every command does what its page says."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gapwright.demo import write_demo
from gapwright.guide.pages import PAGES, as_html, page
from tests.commands import ran, refused
from tests.documents import GUIDE, followed, of, shown

if TYPE_CHECKING:
    from pathlib import Path

MAY_END = {  # other codes than 0, each with the command that may end so
    "3": ("gapwright batch week.csv", "gapwright check drum.yaml"),
    "4": ("gapwright stock",),
}
SAYS = {
    "bench": ("FITS, proved best", "drum.html: bench sheet", "thin, 100 % sure"),
    "shop": (
        "31 lots received",
        "2 received; 4 on hand",
        "reserved for J-1042: 18 parts",
        "the chain holds",
        " of 3 jobs can be completed, proved best",
        "of 160 drums, 144 were asked for",
        "COVERS ALL IT IS FOR",
        "kit.html: kit sheet of Harrow 4 overhaul kit",
        "parts drawn for",
    ),
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
        assert told[nth][1].startswith(printed)


def text_of(told: list[tuple[object, str]]) -> str:
    return "".join(printed for _, printed in told)


def test_every_page_is_listed_printed_and_turned_into_html() -> None:
    listed = ran("guide").stdout
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
    text = as_html("# A\n\n[files](files.md), [out](other.md) <b>bold</b> `<i>`\n\n| a |\n|---|\n| b |\n")
    assert 'href="/guide/files"' in text
    assert 'href="other.md"' in text
    assert "&lt;b&gt;bold" in text
    assert "<td>b</td>" in text


def test_links_of_the_pages_lead_to_pages() -> None:
    for name in PAGES:
        for target in re.findall(r"\]\(([^)]+)\)", page(name)):
            assert target.removesuffix(".md").partition("#")[0] in {*PAGES, ""}


def test_the_guides_drum_is_the_readmes() -> None:
    from tests.commands import HOME

    assert of(GUIDE / "bench.md", "yaml")[0] == of(HOME / "README.md", "yaml")[0]
