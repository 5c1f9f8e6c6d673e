"""What closing a job does to each lot of its shelf.

What went in is what is listed as built, elsewhere what was promised. Of each size the promise says
how many were the unit's own and how many came from the shelf; parts that the ledger issued are in
the unit as far as so many went in. Of what then came from the shelf, parts that went out already
stay out, those reserved for the job go out next, then those promised, then others where only one
lot can be meant. All else that went out comes back, and what was reserved is free again.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.record.lots import lot_key
from gapwright.record.sizes import Size, counted, fetched, in_unit
from specs.errors import InputError, Problem
from specs.gaps.built import parts_of, promised_builds

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gapwright.record.lots import KeptLot
    from specs.models.case import Case
    from specs.models.job import Parts
    from specs.models.record import Promised, Taken


@dataclass(frozen=True, slots=True)
class JobLot:
    """A lot of a shelf as one job stands to it."""

    lot: KeptLot
    held: int = 0
    """How many are reserved for the job."""
    out: int = 0
    """How many went out to it and have not come back."""
    by_hand: int = 0
    """How many of these went out otherwise than when it was closed before."""
    promised: int = 0
    """How many of it the promise takes."""

    @property
    def size(self) -> Size:
        """The family and size of its parts."""
        return self.lot.part.family, self.lot.part.size


@dataclass(frozen=True, slots=True)
class LotChange:
    """What closing a job does to one lot."""

    lot: KeptLot
    used: int
    """How many of it are in the unit."""
    from_held: int
    """How many go out of those reserved for the job."""
    from_free: int
    """How many go out of those anybody may take."""
    released: int
    """How many are reserved for the job no longer and stay."""
    back: int
    """How many that went out come back."""

    @property
    def leaves(self) -> int:
        """How many fewer are on hand afterwards."""
        return self.from_held + self.from_free - self.back


@dataclass(frozen=True, slots=True)
class Settlement:
    """What closing a job does to its shelf."""

    changes: tuple[LotChange, ...]
    extra: Counter[Size]
    """What went in and was not promised."""
    unused: Counter[Size]
    """What was promised and did not go in."""


def settle(case: Case, promised: Promised | None, lots: Sequence[JobLot]) -> Settlement:
    """Work out what closing a job does to its shelf.

    Parameters
    ----------
    case
        The job's files as read.
    promised
        The promise that stands for it; None where there is none.
    lots
        The lots of its shelf as the job stands to them.

    Raises
    ------
    InputError
        Where nobody says what went in, where it is not on hand, or could be of several lots.
    """
    went_in = counted(case, builds_in(case, promised))
    wanted = counted(case, promised_builds(promised))
    takes, drum = fetched(promised), in_unit(case, case.unit.gaps)
    by_size: dict[Size, list[JobLot]] = {size: [] for size in went_in}
    for lot in lots:
        by_size.setdefault(lot.size, []).append(lot)
    changes: list[LotChange] = []
    for size, here in by_size.items():
        number = sum(lot.out for lot in here)
        if _is_chosen(case, size[0]):
            apart = sum(lot.by_hand for lot in here), sum(lot.held for lot in here)
            number = from_shelf(went_in[size], wanted[size], takes[size], drum[size], *apart)
        changes += _settled(case, size, here, number)
    return Settlement(tuple(changes), went_in - wanted, wanted - went_in)


def _is_chosen(case: Case, family: str) -> bool:
    """Say whether parts of a family are chosen in this unit; what else went out to a job stays."""
    return family in case.unit.families and bool(case.unit.families[family].sizes)


def from_shelf(went_in: int, promised: int, takes: int, drum: int, by_hand: int, held: int) -> int:
    """Return how many parts of a size that went in came from the shelf.

    Parameters
    ----------
    went_in
        How many went in.
    promised, takes
        How many were promised, and how many of these from the shelf; the others are the unit's own.
    drum
        How many the unit had of its own.
    by_hand
        How many were issued to the job: they are in as far as so many went in.
    held
        How many are reserved for it besides: they come before what else the unit had.
    """
    own = max(0, promised - takes)
    more = max(0, went_in - promised)
    spare = max(0, drum - own)
    expected = max(0, min(went_in, promised) - own) + max(0, more - spare)
    set_apart = min(by_hand + held, takes + more) if more else 0
    return max(expected, min(by_hand, went_in), set_apart)


def builds_in(case: Case, promised: Promised | None) -> dict[str, Parts]:
    """Return what went into each gap: as listed after assembly, elsewhere as promised.

    Raises InputError where neither is there, or a gap was measured and nobody says what is in it.
    """
    found = promised_builds(promised)
    origin = case.origins["job"]
    for name, work in case.job.gaps.items():
        if work.as_built is None:
            continue
        listed = parts_of(work.as_built)
        if listed is None and name not in found:
            sentence = "nothing was promised for it: list the parts that went in (`parts`)"
            raise InputError(origin.problem(("gaps", name, "as built"), sentence))
        found[name] = listed or found[name]
    if not found:
        sentence = (
            "nothing was promised for this job and nothing was measured after assembly: keep an "
            "answer (`gapwright fit --promise`), or list what went in under `as built`"
        )
        raise InputError(origin.problem((), sentence))
    return found


def _settled(case: Case, size: Size, lots: Sequence[JobLot], number: int) -> Iterator[LotChange]:
    """Yield what becomes of the lots of one size, of which so many parts went in."""
    lots = sorted(lots, key=lambda lot: -lot.promised)
    stays, number = _spread(number, [lot.out for lot in lots])
    from_held, number = _spread(number, [lot.held for lot in lots])
    kept = zip(lots, stays, from_held, strict=True)
    left = [max(0, min(lot.lot.free, lot.promised - out - held)) for lot, out, held in kept]
    from_free, number = _spread(number, left)
    if number:
        rest = [lot.lot.free - taken for lot, taken in zip(lots, from_free, strict=True)]
        could_be = [nth for nth, free in enumerate(rest) if free]
        if len(could_be) != 1 or rest[could_be[0]] < number:
            raise _refusal(case, size, number, [lots[nth].lot.part for nth in could_be])
        from_free[could_be[0]] += number
    for lot, out, held, free in zip(lots, stays, from_held, from_free, strict=True):
        yield LotChange(lot.lot, out + held + free, held, free, lot.held - held, lot.out - out)


def _spread(number: int, rooms: Sequence[int]) -> tuple[list[int], int]:
    """Put a number into rooms, one after the other; return how many each took, and the rest."""
    found = []
    for room in rooms:
        found.append(min(number, room))
        number -= found[-1]
    return found, number


def _refusal(case: Case, size: Size, number: int, could_be: Sequence[Taken]) -> InputError:
    file = case.ledger or case.origins["shelf"].source.file
    went_in = f"{number} x {' '.join(size)} went in besides what is kept for the job"
    if len(could_be) > 1:
        places = " or ".join(part.bin or part.code or "no bin" for part in could_be)
        reserve = (
            f"issue it first: gapwright shelf issue --job {case.job.name}"
            if case.ledger
            else f"write beside the lot it came from: reserved: {{{case.job.name}: {number}}}"
        )
        sentence = f"{went_in}, and could be from {places}; {reserve}"
    else:
        sentence = (
            f"{went_in}, and there are not so many on hand: count the shelf, or list under "
            "`as built` what went in"
        )
    return InputError(Problem(sentence, file))


def job_lots(
    lots: Sequence[KeptLot],
    promised: Promised | None,
    held: Sequence[int],
    out: Sequence[int],
    by_hand: Sequence[int],
) -> list[JobLot]:
    """Return lots as a job stands to them.

    Parameters
    ----------
    lots
        The lots of its shelf.
    promised
        The promise that stands; the first lot that agrees with what it takes is the one it takes.
    held, out, by_hand
        How many are reserved for the job, went out to it, and went out to it otherwise than when
        it was closed before, lot by lot; less than nothing where more came back into a lot.
    """
    sizes = [(lot.part.family, lot.part.size) for lot in lots]
    left = Counter({lot_key(taken): taken.count for taken in promised.takes} if promised else ())
    found = []
    for nth, (went, mine) in enumerate(
        zip(_netted(sizes, out), _netted(sizes, by_hand), strict=True)
    ):
        key = lot_key(lots[nth].part)
        found.append(JobLot(lots[nth], held[nth], went, mine, left[key]))
        left[key] = 0
    return found


def _netted(sizes: Sequence[Size], numbers: Sequence[int]) -> list[int]:
    """Take what came back into other lots of a size off those that it went out of."""
    back = Counter[Size]()
    for size, number in zip(sizes, numbers, strict=True):
        back[size] += max(0, -number)
    found = []
    for size, number in zip(sizes, numbers, strict=True):
        some = min(max(0, number), back[size])
        back[size] -= some
        found.append(max(0, number) - some)
    return found
