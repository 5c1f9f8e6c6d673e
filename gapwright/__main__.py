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


class AskedOfFit(Asked):
    """The options of `fit`."""

    why: bool
    sure: str | None
    sure_job: str | None
    guard: str | None


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
@click.option(
    "--why",
    is_flag=True,
    help="Say what each aim costs and how far each reading may be off; or the shortest reason.",
)
@click.option("--sure", help="Only builds whose every gap is so sure, in percent: --sure 95.")
@click.option("--sure-job", help="Only builds whose gaps are all together so sure, in percent.")
@click.option(
    "--guard",
    help="Only builds that keep a guard band from each limit (ISO 14253-1:2017), in percent.",
)
@solving
def fit(
    job: Path, unit: Path | None, shelf: Path | None, best: int, **asked: Unpack[AskedOfFit]
) -> int:
    """Choose the parts of one rebuild, in order, or say that nothing fits."""
    from gapwright.desk import fit_job
    from gapwright.patience import patience
    from gapwright.surely import demand_of
    from solver.engine import Limits

    limits = Limits(asked["seconds"], asked["workers"])
    wanted = (asked["sure"], asked["sure_job"], asked["guard"])
    demand = demand_of(*wanted, why=asked["why"], best=best)
    with patience(limits.watch):
        report = fit_job(job, unit, shelf, limits, best, why=asked["why"], demand=demand)
    click.echo(_told(report, asked["lengths"], as_json=asked["as_json"]))
    return _exit_code(report)


@cli.command()
@click.argument("job", type=FILE)
@click.option("--unit", type=FILE, help="Take the unit from this file.")
@click.option("--shelf", type=FILE, help="Take the shelf from this file.")
@solving
def check(job: Path, unit: Path | None, shelf: Path | None, **asked: Unpack[Asked]) -> int:
    """Compare what was measured after assembly with what was promised, and say what to change."""
    from gapwright.check_json import dump_check
    from gapwright.check_words import tell_check
    from gapwright.checking import check_job
    from gapwright.patience import patience
    from solver.answer import Undecided
    from solver.engine import Limits

    limits = Limits(asked["seconds"], asked["workers"])
    with patience(limits.watch):
        found = check_job(job, unit, shelf, limits)
    click.echo((dump_check if asked["as_json"] else tell_check)(found, asked["lengths"]))
    if found.change and isinstance(found.change.answer, Undecided):
        return 4
    return 0 if found.inside else 3


@cli.command()
@click.argument("folder", type=FILE, default=Path("gapwright-demo"))
def demo(folder: Path) -> int:
    """Write the demo's files into a new FOLDER and go through its jobs."""
    from gapwright.check_words import tell_check
    from gapwright.checking import check_job
    from gapwright.demo import BUILT, write_demo
    from gapwright.desk import fit_job

    jobs = write_demo(folder)
    click.echo(f"The demo's files are in {folder}/: change them and run the commands again.\n")
    for job in jobs:
        click.echo(f"$ gapwright fit {job}")
        click.echo(_told(fit_job(job), None, as_json=False) + "\n")
    click.echo(f"$ gapwright check {folder / BUILT}")
    click.echo(tell_check(check_job(folder / BUILT)) + "\n")
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
