"""What `tell` is asked on the command line, and its answer told; light until it is called."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from gapwright.tell.pile import Pile
    from gapwright.tell.service import Measured, Teller
    from specs.values.lengths import Unit

HERE = Path("unit.yaml")


class AskedTell(TypedDict):
    """What is asked, as written."""

    unit: Path | None
    list_: Path | None
    gauge: str
    seen: tuple[str, ...]
    used: bool
    flatness: str | None
    coning: str | None
    found: tuple[str, ...]
    sure: float


def tell_parts(texts: tuple[str, ...], asked: AskedTell) -> tuple[Teller, Pile]:
    """Read what is asked and tell every part. Raises InputError with all that is wrong with it."""
    from gapwright.tell.belongs import check_mixed
    from gapwright.tell.pile import sort_pile
    from gapwright.tell.service import Teller
    from specs.errors import InputError, Problem
    from specs.files.read import read_unit_alone

    if asked["unit"] is None and not HERE.exists():
        raise InputError(Problem("name the file that holds the unit: --unit unit.yaml"))
    case = read_unit_alone(asked["unit"] or HERE)
    teller = Teller(case, asked["sure"] / 100)
    parts = _parts(teller, texts, asked)
    if not parts:
        raise InputError(Problem("write a thickness, such as 0.0655in, or --list pile.csv"))
    check_mixed(teller, parts, str(asked["list_"]))
    return teller, sort_pile(teller, parts)


def _parts(teller: Teller, texts: tuple[str, ...], asked: AskedTell) -> tuple[Measured, ...]:
    from gapwright.tell.candidates import feature_names
    from gapwright.tell.parts_table import (
        SlipError,
        check_gauge,
        check_used,
        places,
        read_list,
        shape,
    )  # fmt: skip
    from gapwright.tell.service import Measured
    from specs.errors import InputError, Problem

    case = teller.case
    length = case.origins["unit"].length
    features = feature_names(teller.every())
    gauges = [*case.unit.gauges]
    try:
        check_gauge(asked["gauge"], gauges)
        seen = tuple(_seen(text, features) for text in asked["seen"])
        usual = Measured(
            (), asked["gauge"], seen, asked["used"],
            shape("--flatness", asked["flatness"], length),
            shape("--coning", asked["coning"], length), asked["found"],
        )  # fmt: skip
        check_used(usual)
        told = tuple(replace(usual, at=places(text, length)) for text in texts)
    except SlipError as slip:
        raise InputError(Problem(str(slip))) from None
    if asked["list_"] is None:
        return told
    return (*told, *read_list(asked["list_"], length, usual, features, gauges))


def _seen(text: str, features: list[str]) -> tuple[str, str]:
    from gapwright.tell.parts_table import SlipError
    from specs.errors import quoted
    from specs.findings import near

    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals or not value:
        raise SlipError(f"--seen: {quoted(text)}; write what you see as teeth=36")
    if name not in features:
        raise SlipError(f"--seen: {near(name, features, 'the unit file states')}")
    return name, value


def tell_or_dump(teller: Teller, pile: Pile, lengths: Unit | None, *, as_json: bool) -> str:
    """The answer in words, or as JSON."""
    if as_json:
        from gapwright.tell.as_json import dump_pile

        return dump_pile(teller, pile, lengths)
    from gapwright.tell.text import tell_pile

    return tell_pile(teller, pile, lengths)


def write_counts(teller: Teller, pile: Pile, file: Path, *, replace: bool) -> str:
    """Write what was told into a file of counts for a shelf; gives what to do with it."""
    from gapwright.output.files import put
    from gapwright.tell.count_file import count_file, left_out

    put(count_file(teller, pile), file, replace=replace)
    left = left_out(teller, pile)
    aside = f"; left out, as no shelf has them: {', '.join(left)}" if left else ""
    return (
        f"{file}: what is told, to be brought to a shelf with "
        f"`gapwright shelf import shop.db {file} --mode add`{aside}"
    )
