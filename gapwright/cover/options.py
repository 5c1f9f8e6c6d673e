"""What `cover` is asked on the command line, and its answer told; light until it is called."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from pathlib import Path

    from gapwright.cover.service import Covered
    from solver.engines.cp_sat import Limits
    from specs.models.case import Case
    from specs.values.lengths import Length, Unit


class AskedCover(TypedDict):
    """What is to be covered, as written."""

    unit: Path | None
    shelf: str | None
    gap: str
    reading: str
    alone: bool
    first: str | None
    last: str | None
    step: str | None
    history: Path | None


def cover_files(file: Path | None, asked: AskedCover, limits: Limits) -> tuple[Covered, ...]:
    """Read what is asked and cover it. Raises InputError with all that is wrong with it."""
    from gapwright.cover.service import Asked, cover_case
    from specs.files.history import read_history
    from specs.files.read import read_shelf

    main = file or asked["unit"]
    if main is None:
        raise _refused("write a FILE that holds or names unit and shelf, or --unit and --shelf")
    case = read_shelf(main, asked["unit"] if file else None, asked["shelf"])
    past = asked["history"]
    history = None if past is None else read_history(past, case.length)
    what = Asked(
        gap=asked["gap"],
        reading=asked["reading"],
        alone=asked["alone"],
        first=_length(case, "--from", asked["first"]),
        last=_length(case, "--to", asked["last"]),
        step=_length(case, "--step", asked["step"]),
    )
    return cover_case(case, what, history, limits)


def _length(case: Case, option: str, text: str | None) -> Length | None:
    from specs.values.lengths import LengthError, parse_length

    if text is None:
        return None
    try:
        return parse_length(text, case.length)
    except LengthError as error:
        raise _refused(f"{option} {error}") from None


def _refused(sentence: str) -> Exception:
    from specs.errors import InputError, Problem

    return InputError(Problem(sentence))


def tell_or_dump(covers: tuple[Covered, ...], lengths: Unit | None, *, as_json: bool) -> str:
    """The answer in words, or as JSON."""
    if as_json:
        from gapwright.cover.as_json import dump_covers

        return dump_covers(covers, lengths)
    from gapwright.cover.text import tell_covers

    return tell_covers(covers, lengths)


def undecided(covers: tuple[Covered, ...]) -> bool:
    """Whether time ran out before every value was decided."""
    return any(one.status == "unknown" for covered in covers for one in covered.served)
