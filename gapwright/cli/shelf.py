"""The commands of a shelf: `gapwright shelf VERB SHELF ...`. They read arguments and print.

Everything heavy is imported where it is needed, so that `--help` answers at once.
"""

from __future__ import annotations

import getpass
import sys
from typing import TYPE_CHECKING, NotRequired, TypedDict, TypeVar, Unpack

import click

from gapwright.cli.options import FILE, REPLACE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from gapwright.shelf.import_export import Mode
    from gapwright.shelf.reorder import ReorderPoint
    from gapwright.shelf.service import Author, Posted
    from gapwright.shelf.typed_part import Typed
    from inventory.movements import Kind
    from specs.values.lengths import LengthUnit

    Command = Callable[..., int]

Found = TypeVar("Found")
SHELF = click.argument("address", metavar="SHELF")
LENGTHS = click.option(
    "--lengths", type=click.Choice(["in", "mm", "thou"]), envvar="GAPWRIGHT_LENGTHS",
    help="The unit of bare lengths, and of those printed (mm unless stated).",
)  # fmt: skip
JSON = click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
UNIT = click.option("--unit", type=FILE, help="Keep to the names of this unit's file.")
PART = click.argument("words", nargs=-1, metavar="PART NUMBER")
WHO = click.option("--who", envvar="GAPWRIGHT_WHO", help="Who does it; else your login's name.")
SEEN = click.option("--seen", type=int, help="Refuse if a lot moved since this entry of `list`.")


class PostingOptions(TypedDict):
    """The options of every command that posts."""

    who: str | None
    why: str
    key: str
    lengths: LengthUnit | None
    as_json: bool


class ListOptions(TypedDict):
    """The options of the command that lists what is on hand."""

    low: int
    csv: Path | None
    unit: Path | None
    lengths: LengthUnit | None
    as_json: bool


class ReorderOptions(PostingOptions):
    """The options of the command that sets a reorder point."""

    new: bool
    unit: Path | None


class FileOptions(PostingOptions):
    """The options of the command that posts a file."""

    dry: bool
    new: bool
    unit: Path | None
    seen: int | None


class PartOptions(PostingOptions):
    """The options of every command that posts a movement of one part."""

    words: tuple[str, ...]
    measured: str | None
    used: bool
    bin: str | None
    label: str | None
    unit: Path | None
    job: str
    apart: NotRequired[bool]
    found: NotRequired[bool]
    new: NotRequired[bool]
    seen: NotRequired[int | None]


@click.group(context_settings={"max_content_width": 100})
def shelf() -> None:
    """Keep counts that are right: a ledger in one file, or on a PostgreSQL server.

    SHELF is its file (shop.db) or postgresql://...; PART is a family and a size, "drum ring"
    .0700, or the code on a lot's label. NUMBER is 1 unless stated. Anything of a lot that is not
    said is found where only one lot can be meant.
    """


def _options(command: Command, *options: Callable[[Command], Command]) -> Command:
    for option in reversed(options):
        command = option(command)
    return command


def posting(command: Command) -> Command:
    """Add the options of every command that posts."""
    return _options(
        command,
        WHO,
        click.option("--why", default="", help="Why, in a few words."),
        click.option("--request", "key", default="",
                     help="A key of your own: the same request twice is posted once."),
        LENGTHS, JSON,
    )  # fmt: skip


def _of_a_part(command: Command) -> Command:
    return posting(_options(
        command, SHELF, PART,
        click.option("--bin", help="The bin it lies in."),
        click.option("--label", help="Your own label for the lot."),
        click.option("--measured", help="Its thickness as measured."),
        click.option("--used", is_flag=True, help="Used parts."),
        click.option("--job", default="", help="For which job."),
        UNIT,
    ))  # fmt: skip


APART = click.option("--apart", is_flag=True, help="Make a lot of its own beside those there are.")
NEW = click.option("--new", is_flag=True, help="Its name is new, though nearly a known one.")
FOUND = click.option("--found", is_flag=True, help="In your hand though the counts deny it.")


@shelf.command()
@SHELF
def init(address: str) -> int:
    """Make an empty shelf where there is none."""
    from inventory import create_shelf, open_shelf

    create_shelf(address)
    with open_shelf(address) as made:
        click.echo(f"{made.name}: an empty shelf; put parts in with `gapwright shelf add`")
    return 0


def _moving(verb: str, kind: Kind, sentence: str, *options: Callable[[Command], Command]) -> None:
    def command(address: str, **options: Unpack[PartOptions]) -> int:
        return _moved(address, kind, options)

    shelf.command(verb, help=sentence)(_of_a_part(_options(command, *options)))


_moving("add", "receive", "Receive parts. NUMBER must be stated.", APART, NEW)
_moving(
    "count", "count", "Set what was found, reserved parts included. NUMBER must be stated.",
    APART, NEW, SEEN,
)  # fmt: skip
_moving("reserve", "reserve", "Keep parts for a job.")
_moving("release", "release", "Give up what is reserved for a job: all of it, or of one PART.")
_moving("issue", "issue", "Take parts out: one PART, or all that is reserved for a job.", FOUND)
_moving("return", "return", "Put parts back; say --used if they were in.", APART, NEW, FOUND)
_moving("scrap", "scrap", "Throw parts away.")


@shelf.command("list")
@SHELF
@click.argument("family", default="")
@click.option(
    "--low",
    type=click.IntRange(min=0),
    default=0,
    help="Mark sizes with fewer than so many free.",
)
@click.option("--csv", type=FILE, help="Write the sizes as a table for a spreadsheet.")
@UNIT
@LENGTHS
@JSON
def list_(address: str, family: str, **options: Unpack[ListOptions]) -> int:
    """Show what is on hand by family and size, each lot with its bin, or one FAMILY.

    A size of which there is none any more is listed too, and one under its reorder point is SHORT.
    """
    from gapwright.output.answers import dump
    from gapwright.output.files import put
    from gapwright.shelf import text as words
    from gapwright.shelf.answer import OnHandAnswer
    from gapwright.shelf.listing import on_hand_list

    shown, low = options["lengths"] or "mm", options["low"]
    found = on_hand_list(address, family, options["unit"])
    answer = OnHandAnswer(found, low=low)
    click.echo(dump(answer, shown) if options["as_json"] else words.on_hand_text(found, low, shown))
    if options["csv"] is not None:
        put(words.on_hand_table(found), options["csv"], replace=True)
    return 0


@shelf.command()
@SHELF
@PART
@UNIT
@NEW
@posting
def reorder(address: str, words: tuple[str, ...], **options: Unpack[ReorderOptions]) -> int:
    """Set the reorder point of a PART's size: it is short where fewer than NUMBER are free.

    NUMBER must be stated; 0 takes the reorder point away.
    """
    from gapwright.output.answers import dump
    from gapwright.shelf.answer import ReorderAnswer
    from gapwright.shelf.reorder import set_reorder_point
    from gapwright.shelf.text import reorder_text
    from gapwright.shelf.typed_part import Typed, part_asked
    from specs.files.read import read_unit

    author = author_of(options["who"], options["why"], options["key"])
    unit, new = read_unit(options["unit"]) if options["unit"] else None, options["new"]

    def point(typed: Typed) -> ReorderPoint:
        part, number = part_asked(typed, None)
        return set_reorder_point(address, part, number, author, new=new, unit=unit)

    found = _asked(point, Typed(words, lengths=options["lengths"], unit=unit))
    click.echo(dump(ReorderAnswer(found), None) if options["as_json"] else reorder_text(found))
    return 0


@shelf.command()
@SHELF
@click.argument("family", default="")
@click.argument("size", default="")
@click.option("--job", default="", help="Of this job alone.")
@LENGTHS
@JSON
def history(
    address: str, family: str, size: str, job: str, lengths: LengthUnit | None, *, as_json: bool
) -> int:
    """Show what moved, in order: all, of one FAMILY and SIZE, of a lot's code, or of a job."""
    from gapwright.output.answers import dump
    from gapwright.shelf import text as words
    from gapwright.shelf.answer import ShelfHistoryAnswer
    from gapwright.shelf.listing import history_list

    shown, found = lengths or "mm", history_list(address, family, size, job)
    moved = ShelfHistoryAnswer(found)
    click.echo(dump(moved, shown) if as_json else words.ledger_text(found, shown))
    return 0


@shelf.command("import")
@SHELF
@click.argument("file", type=FILE)
@click.option(
    "--mode",
    type=click.Choice(["count", "add"]),
    required=True,
    help="count: the file is a recount; add: it is a delivery.",
)
@click.option("--dry-run", "dry", is_flag=True, help="Show what would change and post nothing.")
@click.option("--new", is_flag=True, help="Names are new, though nearly known ones.")
@UNIT
@SEEN
@posting
def import_(address: str, file: Path, mode: Mode, **options: Unpack[FileOptions]) -> int:
    """Take counts from a spreadsheet (.csv) or a shelf file (.yaml): all of FILE or nothing."""
    from gapwright.output.answers import dump
    from gapwright.shelf import import_export as files
    from gapwright.shelf import text as words
    from gapwright.shelf.answer import ImportedAnswer

    ways = options["lengths"], options["unit"], options["dry"], options["new"]
    wanted = files.ImportOptions(file, mode, *ways)
    author = author_of(options["who"], options["why"], options["key"], options["seen"])
    imported = files.import_counts(address, wanted, author)
    shown = options["lengths"] or "mm"
    answer = ImportedAnswer(imported)
    click.echo(dump(answer, shown) if options["as_json"] else words.imported_text(imported, shown))
    return 0


@shelf.command()
@SHELF
@click.argument("file", type=FILE)
@REPLACE
@UNIT
@LENGTHS
def export(
    address: str, file: Path, unit: Path | None, lengths: LengthUnit | None, *, replace: bool
) -> int:
    """Write what is on hand to a spreadsheet (.csv) or a shelf file (.yaml).

    With --unit only what that unit knows, so that `gapwright fit --shelf FILE` takes it.
    """
    from gapwright.output.files import put
    from gapwright.shelf.import_export import export_counts
    from gapwright.shelf.text import so_many

    text, left_out = export_counts(address, file.suffix.lower(), lengths or "mm", unit)
    put(text, file, replace=replace)
    rest = f"; left out, not of this unit: {so_many(left_out, 'lot')}" * bool(left_out)
    click.echo(f"{file}: written{rest}")
    return 0


@shelf.command()
@SHELF
@click.argument("family", default="")
@click.option("-o", "file", type=FILE, required=True, help="The page to write: labels.html.")
@REPLACE
@UNIT
@LENGTHS
def labels(
    address: str,
    family: str,
    file: Path,
    unit: Path | None,
    lengths: LengthUnit | None,
    *,
    replace: bool,
) -> int:
    """Write a page of bin labels to print: of all on hand, of a FAMILY, or of a lot's code."""
    from gapwright.output.files import put
    from gapwright.paper.labels import label_sheet

    put(label_sheet(address, family, lengths or "mm", unit), file, replace=replace)
    click.echo(f"{file}: written; print it at 100 %")
    return 0


@shelf.command()
@SHELF
@click.option(
    "--link",
    "links",
    metavar="NUMBER:LINK",
    multiple=True,
    help="A link that a list or a sheet has: it must still be there. May be given several times.",
)
@JSON
def verify(address: str, links: tuple[str, ...], *, as_json: bool) -> int:
    """Work the ledger through from its beginning: does every entry follow, is any altered.

    That the last requests are gone shows only against a --link that was printed before.
    """
    from gapwright.output.answers import dump
    from gapwright.shelf import text as words
    from gapwright.shelf.answer import VerifiedAnswer
    from inventory import open_shelf
    from inventory.chain import read_link

    printed = [read_link(link) for link in links]
    with open_shelf(address, look=False) as opened:
        name, found = opened.name, opened.verify(printed)
    answer = VerifiedAnswer(found, shelf=name)
    click.echo(dump(answer, None) if as_json else words.verified_text(name, found, printed))
    return 0


def _moved(address: str, kind: Kind, options: PartOptions) -> int:
    from gapwright.output.answers import dump
    from gapwright.shelf import text as words
    from gapwright.shelf.answer import PostedAnswer
    from gapwright.shelf.service import settled

    author = author_of(options["who"], options["why"], options["key"], options.get("seen"))
    if kind in ("release", "issue") and options["job"] and not options["words"]:
        posted = settled(address, kind, options["job"], author)
    else:
        posted = _moved_one(address, kind, options, author)
    shown = options["lengths"] or "mm"
    answer = PostedAnswer(posted)
    click.echo(dump(answer, shown) if options["as_json"] else words.posted_text(posted, shown))
    return 0


def _moved_one(address: str, kind: Kind, options: PartOptions, author: Author) -> Posted:
    from gapwright.shelf.service import Move, moved
    from gapwright.shelf.typed_part import Typed, part_asked
    from specs.files.read import read_unit

    unit = read_unit(options["unit"]) if options["unit"] else None
    typed = Typed(
        options["words"],
        options["measured"],
        options["used"],
        options["bin"],
        options["label"],
        options["lengths"],
        unit,
    )

    def move(typed: Typed) -> Posted:
        part, number = part_asked(typed, None if kind in ("receive", "count") else 1)
        ways = (options.get("apart", False), options.get("found", False), options.get("new", False))
        return moved(address, Move(kind, part, number, options["job"], *ways, unit), author)

    return _asked(move, typed)


def _asked(attempt: Callable[[Typed], Found], typed: Typed) -> Found:
    """Attempt something with a typed part, and ask on a terminal what is meant by a doubtful name.

    Raises DoubtfulNameError where there is no terminal, or somebody does not say yes.
    """
    from dataclasses import replace

    from gapwright.shelf.names import DoubtfulNameError

    while True:
        try:
            return attempt(typed)
        except DoubtfulNameError as doubt:
            at = ("family", "size").index(doubt.what)
            meant = _meant(doubt.near) if on_a_terminal() else ""
            if not meant:
                raise
            words = (*typed.words[:at], meant, *typed.words[at + 1 :])
            typed = replace(typed, words=words)


def on_a_terminal() -> bool:
    """Say whether somebody sits there who can be asked."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def _meant(names: Iterable[str]) -> str:
    """Ask which of some names is meant; empty where none is."""
    return next((name for name in names if click.confirm(f"{name}?", err=True)), "")


def author_of(who: str | None, why: str = "", key: str = "", seen: int | None = None) -> Author:
    """What somebody says of a request; raises UsageError where nobody knows who it is."""
    from gapwright.shelf.service import Author

    try:
        return Author(who or getpass.getuser(), why, key, seen)
    except (KeyError, OSError):
        raise click.UsageError("say who it is: --who mary, or GAPWRIGHT_WHO=mary") from None
