"""The guide: pages that are shipped with the package, for a terminal and for the bench page.

Its pages are Markdown and lie beside this file. `files` and `answers` are written from the models
of the files and of the answers; see `specs/files/reference.py` and `gapwright/guide/reference.py`.
"""

from __future__ import annotations

from importlib.resources import files

PAGES = {
    "bench": "one drum: readings, answer, sheet, after assembly",
    "shop": "counts, several rebuilds, kits, what to stock",
    "scripts": "the library, JSON, the API, settings, exit codes",
    "files": "every key of a unit, shelf, job and kit file",
    "answers": "every key of an answer as JSON",
}
"""Each page and what it is for, in the order they are listed."""


def page(name: str) -> str:
    """Give one page as Markdown; its name is a key of `PAGES`."""
    return files("gapwright").joinpath("guide", f"{name}.md").read_text(encoding="utf-8")


def as_html(text: str) -> str:
    """Turn a page into HTML: markup in it is shown as text, links between pages lead to them.

    Needs the extra `serve`.
    """
    from markdown_it import MarkdownIt

    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(text)
    for token in (child for block in tokens for child in block.children or ()):
        target = str(token.attrs.get("href", ""))
        if target.removesuffix(".md") in PAGES:
            token.attrs["href"] = f"/guide/{target.removesuffix('.md')}"
    return str(reader.renderer.render(tokens, reader.options, {}))
