"""The command line: `gapwright VERB ...`. It reads arguments, calls the desk, and prints.

Exit: 0 fit or done, 2 bad input or usage, 3 no fit, 4 stopped before proof, 1 a fault of ours.
Everything heavy is imported where it is needed, so that `--help` answers at once.
"""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack, cast

import click

from gapwright.cover_asked import AskedCover

if TYPE_CHECKING:
    from collections.abc import Callable

    from gapwright.report import Report
    from specs.lengths import Unit

FILE = click.Path(path_type=Path)
OURS = (
    "This is a fault of gapwright's. Please report it with your files and what the command prints "
    "with GAPWRIGHT_TRACE=1 before it."
)
LENGTHS = click.Choice(["in", "mm", "thou"])


class Asked(TypedDict):
    """The options every solving verb takes."""

    as_json: bool
    lengths: Unit | None
    seconds: float
    workers: int


class CoverOptions(Asked, AskedCover):
    """The options of `cover`."""


def _version(context: click.Context, _option: click.Parameter, asked: bool) -> None:  # noqa: FBT001 - as click calls it
    from importlib.metadata import PackageNotFoundError, version

    if not asked or context.resilient_parsing:
        return
    try:
        click.echo(f"gapwright {version('gapwright')}")
    except PackageNotFoundError:
        click.echo("gapwright, run from its source")
    context.exit()


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=_version,
    help="Show the version and exit.",
)  # fmt: skip
def cli() -> None:
    """Choose rings, steels and washers so that every clearance and end play lands in its window.

    Start with `gapwright demo`, then write a unit, a shelf and a job file of your own and run
    `gapwright fit job.yaml`.
    """


def solving(command: Callable[..., int]) -> Callable[..., int]:
    """Add the options every solving verb takes."""
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON."),
        click.option("--lengths", type=LENGTHS, help="Print lengths in this unit."),
        click.option(
            "--time", "seconds", type=click.FloatRange(min=0), default=60.0, show_default=True,
            help="Stop after so many seconds with the best build so far.",
        ),
        click.option(
            "--workers", type=click.IntRange(1, 64), default=1, show_default=True,
            help="Search on so many cores; the proved answer is the same.",
        ),
    ):  # fmt: skip
        command = option(command)
    return command


@cli.command()
@click.argument("job", type=FILE)
@click.option("--unit", type=FILE, help="Take the unit from this file.")
@click.option("--shelf", type=FILE, help="Take the shelf from this file.")
@click.option(
    "--best", type=click.IntRange(1, 50), default=1, help="List so many best builds that differ."
)
@solving
def fit(job: Path, unit: Path | None, shelf: Path | None, best: int, **asked: Unpack[Asked]) -> int:
    """Choose the parts of one rebuild, in order, or say that nothing fits."""
    from gapwright.desk import fit_job
    from gapwright.patience import patience
    from solver.engine import Limits

    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        report = fit_job(job, unit, shelf, limits, best)
    click.echo(_told(report, asked["lengths"], as_json=asked["as_json"]))
    return _exit_code(report)


@cli.command()
@click.argument("file", type=FILE, required=False)
@click.option("--unit", type=FILE, help="Take the unit from this file.")
@click.option("--shelf", type=FILE, help="Take the kit or shelf from this file.")
@click.option("--gap", default="", help="Only this pack or end play; otherwise each in turn.")
@click.option("--reading", default="", help="Move this reading, not the room for the stack.")
@click.option("--alone", is_flag=True, help="Leave the other packs and end plays aside.")
@click.option("--from", "first", help="The first value, such as 0.950.")
@click.option("--to", "last", help="The last value.")
@click.option("--step", help="From one value to the next.")
@click.option("--history", type=FILE, help="A CSV file of past drums, to mark where they lie.")
@click.option("--picture", type=FILE, help="Draw it into this .svg or .png file.")
@solving
def cover(file: Path | None, picture: Path | None, **asked: Unpack[CoverOptions]) -> int:
    """Show which spaces a kit or shelf serves, with which builds, and where it leaves holes.

    FILE holds or names the unit and the shelf. Where it also holds a job, the other packs and
    end plays stand as that job has them.
    """
    from gapwright.cover_asked import cover_files, tell_or_dump, undecided
    from gapwright.drawing import check_picture, draw
    from gapwright.patience import patience
    from solver.engine import Limits

    if picture is not None:
        check_picture(picture)
    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        covers = cover_files(file, asked, limits)
    if picture is not None:
        draw(picture, covers, asked["lengths"])
    click.echo(tell_or_dump(covers, asked["lengths"], as_json=asked["as_json"]))
    return 4 if undecided(covers) else 0


@cli.group()
def stock() -> None:
    """Choose what to keep in a kit."""


@stock.command()
@click.argument("unit", type=FILE)
@click.option("--history", type=FILE, required=True, help="A CSV file of past drums' spaces.")
@click.option("--share", default="95", show_default=True, help="Percent of drums to serve.")
@click.option("--picture", type=FILE, help="Draw cost against drums served, .svg or .png.")
@solving
def kit(unit: Path, history: Path, share: str, picture: Path | None, **asked: Unpack[Asked]) -> int:
    """Choose the cheapest kit that serves a share of past drums.

    UNIT holds the unit with its prices. The history has a column for each pack or end play.
    """
    from gapwright.kit_asked import draw_kit, exit_code, kit_files, tell_or_dump
    from gapwright.patience import patience
    from solver.engine import Limits

    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        report = kit_files(unit, history, share, picture, limits)
    if picture is not None:
        draw_kit(picture, report)
    click.echo(tell_or_dump(report, as_json=asked["as_json"]))
    return exit_code(report)


@cli.command()
@click.argument("folder", type=FILE, default=Path("gapwright-demo"))
def demo(folder: Path) -> int:
    """Write the demo's files into a new FOLDER and solve both of its jobs."""
    from gapwright.demo import write_demo
    from gapwright.desk import fit_job

    jobs = write_demo(folder)
    click.echo(f"The demo's files are in {folder}/: change them and run the commands again.\n")
    for job in jobs:
        click.echo(f"$ gapwright fit {job}")
        click.echo(_told(fit_job(job), None, as_json=False) + "\n")
    return 0


@cli.command()
@click.argument("section", type=click.Choice(["unit", "shelf", "job"]))
def schema(section: str) -> int:
    """Print the JSON Schema of a unit, shelf or job file, for editors."""
    from gapwright.schema import schema_text

    click.echo(schema_text(section))
    return 0


def _told(report: Report, lengths: Unit | None, *, as_json: bool) -> str:
    if as_json:
        from gapwright.as_json import dump

        return dump(report, lengths)
    from gapwright.words import tell

    return tell(report, lengths)


def _exit_code(report: Report) -> int:
    from solver.answer import Fit, NoFit

    if isinstance(report.answer, NoFit):
        return 3
    return 0 if isinstance(report.answer, Fit) and report.answer.proved else 4


def main() -> None:
    """Run the command line; every error ends in one clear sentence."""
    from gapwright.guard import check_imports

    gc.set_threshold(100_000)  # a short process: looking for garbage costs more than it frees
    # No plugin of another package may change how a file is read; looking for them takes time too.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:  # somebody may have closed it
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    hidden = check_imports()
    if hidden:
        click.echo(hidden, err=True)
        sys.exit(2)
    try:
        code = cli.main(prog_name="gapwright", standalone_mode=False) or 0
        if sys.stdout is not None:
            sys.stdout.flush()
    except Exception as error:  # noqa: BLE001 - nobody at a bench is shown a traceback
        code = _failed(error)
    if sys.stderr is not None:
        sys.stderr.flush()
    os._exit(code)  # all is printed: taking the solver's libraries apart would only cost time


def _failed(error: Exception) -> int:
    """Tell an error in one sentence, and give the exit code it stands for."""
    from specs.errors import GapwrightError

    if isinstance(error, click.ClickException):
        error.show()
        return error.exit_code
    if isinstance(error, click.Abort):
        click.echo("stopped", err=True)
        return 4
    if isinstance(error, OSError):
        _silence()
        click.echo(f"{error.filename or 'output'}: {error.strerror}", err=True)
        return 2
    ours = not isinstance(error, GapwrightError)
    if ours and os.environ.get("GAPWRIGHT_TRACE"):
        raise error
    click.echo(f"unforeseen: {type(error).__name__}: {error}" if ours else str(error), err=True)
    code = 1 if ours else cast("GapwrightError", error).exit_code
    if code == 1:
        click.echo(OURS, err=True)
    return code


def _silence() -> None:
    """Point standard output at nothing, so that closing it cannot fail a second time."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        return


if __name__ == "__main__":
    main()
