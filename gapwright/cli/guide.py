"""`gapwright guide`: the guide, without internet."""

from __future__ import annotations

import click


@click.command()
@click.argument("page", default="")
def guide(page: str) -> int:
    """Print a PAGE of the guide, or list its pages."""
    from gapwright.guide.pages import PAGES
    from gapwright.guide.pages import page as text_of
    from specs.errors import InputError, Problem

    if not page:
        width = max(map(len, PAGES))
        lines = [f"  gapwright guide {name:<{width}}  {what}" for name, what in PAGES.items()]
        click.echo("\n".join(["The guide has these pages:", *lines]))
        return 0
    if page not in PAGES:
        found = f'found "{page}"; the pages are {", ".join(PAGES)}'
        raise InputError(Problem(found, "gapwright guide"))
    click.echo_via_pager(text_of(page))
    return 0
