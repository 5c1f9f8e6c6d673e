"""The command line: `gapwright VERB ...`. Verbs are in `gapwright/cli`.

Exit: 0 fit or done, 2 bad input or usage, 3 no fit, 4 stopped before proof, 1 a fault of ours.
"""

from __future__ import annotations

import gc
import os
import sys
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from gapwright.verbs import VERBS

if TYPE_CHECKING:
    from collections.abc import Sequence

OURS = (
    "This is a fault of gapwright's. Please report it with your files and what the command prints "
    "with GAPWRIGHT_TRACE=1 before it."
)


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


for verb in VERBS:
    cli.add_command(getattr(import_module(f"gapwright.cli.{verb}"), verb))


def main() -> None:
    """Prepare this process for one command, run it, and end with its exit code."""
    gc.set_threshold(100_000)  # a short process: looking for garbage costs more than it frees
    # No plugin of another package may change how a file is read; looking for them takes time too.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:  # somebody may have closed it
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    hidden = _hidden_package()
    if hidden:
        click.echo(hidden, err=True)
        sys.exit(2)
    code = run_command()
    os._exit(code)  # all is printed: taking the solver's libraries apart would only cost time


def _hidden_package() -> str:
    """Return a sentence that names a user's own file that hides one of our packages, or nothing."""
    home = Path(__file__).resolve().parent.parent
    for name in ("specs", "inventory", "solver"):
        found = find_spec(name)
        origin = Path(found.origin).resolve() if found and found.origin else None
        if origin is None or origin.parent.parent != home:
            return (
                f"{origin or name}: this hides gapwright's own package `{name}`; rename it, or run "
                "gapwright from another folder"
            )
    return ""


def run_command(words: Sequence[str] | None = None) -> int:
    """Run one command to its end; print every error in one clear sentence.

    `words` are what stands behind `gapwright`; the words this process was started with unless
    given. Returns the exit code.
    """
    try:
        code: int = cli.main(words, prog_name="gapwright", standalone_mode=False) or 0
        if sys.stdout is not None:
            sys.stdout.flush()
    except Exception as error:  # noqa: BLE001 - nobody at a bench is shown a traceback
        code = _failed(error)
    if sys.stderr is not None:
        sys.stderr.flush()
    return code


def _failed(error: Exception) -> int:
    """Tell an error in one sentence, and give the exit code it stands for."""
    from specs.errors import GapwrightError, brief

    if isinstance(error, click.ClickException):
        error.message = brief(error.message)  # type: ignore[misc]
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
