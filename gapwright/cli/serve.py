"""`gapwright serve`: the bench page."""

from __future__ import annotations

from pathlib import Path
from typing import TypedDict, Unpack

import click

from gapwright.cli.options import FILE, SHELF

WARNING = (
    "Whoever is on this network can overhear what goes to and fro: the page is not encrypted. "
    "Use it on a network of your own."
)


class ServeOptions(TypedDict):
    """The options of `serve`, but for the shelf."""

    port: int
    lan: bool
    token: str | None
    names: tuple[str, ...]
    seconds: float


@click.command()
@click.argument("folder", type=FILE, default=Path())
@SHELF
@click.option("--port", type=click.IntRange(1, 65535), default=8710, show_default=True)
@click.option(
    "--lan", is_flag=True,
    help="Answer to other machines too; they must show the token that is printed.",
)  # fmt: skip
@click.option(
    "--token", envvar="GAPWRIGHT_TOKEN",
    help="With --lan: this token, 12 characters or more, in place of a new one; better set in "
    "GAPWRIGHT_TOKEN.",
)  # fmt: skip
@click.option(
    "--host-name",
    "names",
    multiple=True,
    help="A further name this machine is called by on your network.",
)
@click.option(
    "--time", "seconds", type=click.FloatRange(min=0.1, max=600), default=10.0, show_default=True,
    help="Stop each search after so many seconds with the best build so far.",
)  # fmt: skip
def serve(folder: Path, shelf: str | None, **options: Unpack[ServeOptions]) -> int:
    """Show the units and jobs in FOLDER as pages for a tablet at the bench; Ctrl-C ends it."""
    from gapwright.extras import check_extra

    check_extra("serve")
    from gapwright.web.app import answer
    from gapwright.web.security import reachable
    from gapwright.web.start import Lan, open_shop

    port, lan = options["port"], options["lan"]
    others = Lan(options["token"] or "", options["names"]) if lan else None
    app, shown = open_shop(folder, shelf or "", options["seconds"], others)
    click.echo(f"the bench page of {folder}: http://{reachable() if lan else 'localhost'}:{port}/")
    if lan:
        click.echo(f"token to come in with: {shown}\n{WARNING}")
    click.echo("Ctrl-C ends it.")
    answer(app, "0.0.0.0" if lan else "127.0.0.1", port)  # noqa: S104 - asked for, behind a token
    return 0
