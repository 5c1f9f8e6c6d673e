"""What is to be minded of a job's parts: worn, always replaced, tried, of two stacks.

Worn parts in the drum come before any part is changed. Those on the shelf are named to be sorted
out; they change nothing else in an answer.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from specs.gaps.built import parts_of
from specs.gaps.job_gap import JobGap
from specs.parts.lookup import find_size, selective
from specs.values.lengths import ZERO, Length, show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gapwright.fit.assembly import GapAssembly
    from solver.problem.instance import Instance
    from specs.models.case import Case
    from specs.models.gaps import Arrangement
    from specs.models.lot import Lot
    from specs.models.unit import Unit
    from specs.parts.lookup import ListedBuild
    from specs.values.lengths import LengthUnit

RemarkKind = Literal[
    "worn", "worn on the shelf", "always replaced", "other linings", "taken as of this unit",
    "one part or several",
]  # fmt: skip
OF_THE_SHOP = ("worn on the shelf", "one part or several")
"""Kinds of remarks that are about the shelf or the unit's file, so that a batch tells them once."""
ONE_EACH = ("steel", "friction")  # of these a stack holds its own, whatever stands elsewhere


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRemark:
    """One thing to mind about the parts of a family."""

    kind: RemarkKind
    family: str
    gap: str = ""
    """The gap it is about; empty where it is about the whole job."""
    size: str = ""
    """The size; empty for a fixed part, or where it is about all sizes."""
    where: str = ""
    """Of a worn part: where the job names it, or the bin of the shelf."""
    count: int = 0
    found: Length | None = None
    """What a worn part measured, or how thick the linings of the trial build were."""
    least: Length | None = None
    """The wear limit."""
    new: Length | None = None
    """How thick the part is that goes in instead; of a worn one, only where it is fixed."""
    more: Length | None = None
    """What other linings add to the gap; below zero for less."""
    because: str = ""
    """Why it is always replaced."""
    gaps: tuple[str, ...] = ()
    """The gaps that hold a part of the family each."""

    @property
    def part(self) -> str:
        """The family, and the size where there is one."""
        return f"{self.family} {self.size}".rstrip()


def remarks_of(
    case: Case,
    names: Iterable[str],
    instance: Instance | None = None,
    built: Iterable[GapAssembly] = (),
    worn: Iterable[Lot] = (),
) -> tuple[PartRemark, ...]:
    """Return what is to be minded of the parts of a job.

    Parameters
    ----------
    case
        The job's files as read.
    names
        The names of the gaps that are looked at.
    instance
        The instance that was solved for them, with the lots that were on hand.
    built
        The assemblies of the build that was found; none where nothing fits.
    worn
        The worn lots of the shelf, as `worn_lots` finds them.
    """
    gaps = [JobGap(case, name) for name in names]
    return (
        *_worn_fixed(gaps),
        *(remark for gap in gaps for remark in _worn(gap)),
        *_worn_on_shelf(gaps, worn),
        *_replaced(gaps),
        *_other_linings(gaps, {gap.name: gap for gap in built}),
        *_lacking(instance),
        *_one_or_several(case),
    )


def _worn_fixed(gaps: list[JobGap]) -> Iterator[PartRemark]:
    """Name each part that is not chosen and measured worn."""
    seen: set[str] = set()
    for gap in gaps:
        case = gap.case
        for layout in gap.layouts.values():
            for name in dict.fromkeys(place.part for place in layout.stack):
                found, new = case.fixed_found(name), case.fixed_thickness(name)
                if name not in seen and found != new:
                    seen.add(name)
                    least = case.unit.family_of(name).thinnest_used()
                    yield PartRemark(
                        kind="worn", family=case.unit.family_name(name), where="measured",
                        found=found, least=least, new=new,
                    )  # fmt: skip


def _worn(gap: JobGap) -> Iterator[PartRemark]:
    """Name the worn parts among those that were tried, are in, were built in, or are to be kept."""
    named: Counter[tuple[str, str, Length, str]] = Counter()
    seen: Counter[tuple[str, str, Length]] = Counter()
    as_built = gap.work.as_built
    builds = (
        ("in the unit", gap.now),
        ("tried", None if gap.trial is gap.now else gap.trial),
        ("built in", parts_of(as_built) if as_built else None),
    )
    for where, parts in builds:
        if parts is None or isinstance(parts.parts, str):
            continue
        here = Counter(
            (part.family, part.size, part.thickness)
            for places in gap.build(parts).parts.values()
            for part in places
        )
        for part, count in (here - seen).items():
            named[*part, where] += count
        seen |= here
    for part in _kept(gap):
        if not seen[part]:
            named[*part, "kept"] += 1
    if gap.trial and gap.trial.linings is not None:
        yield from _worn_linings(gap, gap.trial.linings)
    for (family, size, thickness, where), count in named.items():
        spec = gap.case.unit.families[family]
        if spec.worn(size, thickness):
            yield PartRemark(
                kind="worn", family=family, gap=gap.name, size=size, where=where, count=count,
                found=thickness, least=spec.thinnest_used(size),
            )  # fmt: skip


def worn_lots(unit: Unit, lots: Iterable[Lot]) -> tuple[Lot, ...]:
    """Return the lots of a shelf that measured worn, so that no answer takes of them.

    Parameters
    ----------
    unit
        The unit whose wear limits count.
    lots
        The lots on hand; what lies in the drum is passed over, for it is named there.
    """
    return tuple(
        lot
        for lot in lots
        if lot.count and not lot.own and not lot.tried and lot.measured
        and unit.families[lot.family].worn(lot.size, lot.thickness)
    )  # fmt: skip


def _worn_on_shelf(gaps: list[JobGap], worn: Iterable[Lot]) -> Iterator[PartRemark]:
    """Name the worn lots of the shelf whose family the gaps could have used."""
    used = {
        gap.case.unit.family_name(layout.stack[index].part)
        for gap in gaps
        for layout in gap.layouts.values()
        for index, _ in selective(gap.case.unit, layout)
    }
    found: Counter[tuple[str, str, Length, str]] = Counter()
    for lot in worn:
        if lot.family in used:
            found[lot.family, lot.size, lot.thickness, lot.bin] += lot.count
    for (family, size, thickness, place), count in found.items():
        yield PartRemark(
            kind="worn on the shelf", family=family, size=size, where=place, count=count,
            found=thickness, least=gaps[0].case.unit.families[family].thinnest_used(size),
        )  # fmt: skip


def _worn_linings(gap: JobGap, linings: Length) -> Iterator[PartRemark]:
    """Name linings of the trial build that are worn; others go in."""
    for layout in gap.layouts.values():
        for name in dict.fromkeys(place.part for place in layout.stack):
            family = gap.case.unit.family_of(name)
            if gap.tried(name) == linings and family.worn("", linings):
                yield PartRemark(
                    kind="worn", family=gap.case.unit.family_name(name), gap=gap.name,
                    where="tried", found=linings, least=family.thinnest_used(),
                )  # fmt: skip
        return


def _kept(gap: JobGap) -> Iterator[tuple[str, str, Length]]:
    """Yield the parts that the job keeps by what they measure."""
    unit, length = gap.case.unit, gap.case.length
    labels = {
        label: unit.family_name(layout.stack[index].part)
        for layout in gap.layouts.values()
        for index, label in selective(unit, layout)
    }
    for label, text in gap.kept.items():
        if text != "now" and label in labels:
            part = find_size(labels[label], unit.families[labels[label]], text, length)
            yield part.family, part.size, part.thickness


def _replaced(gaps: list[JobGap]) -> Iterator[PartRemark]:
    """Name each family that is always replaced, and how many of it the drum holds."""
    if not gaps:
        return
    case = gaps[0].case
    replaced = {name: one for name, one in case.replaced.items() if name in case.unit.families}
    for name, why in replaced.items():
        held = sum(_held(gap, name) for gap in gaps)
        fixed = case.unit.families[name].fixed is not None
        stands = any(
            case.unit.family_name(place.part) == name
            for gap in gaps
            for layout in gap.layouts.values()
            for place in layout.stack
        )
        if held or (fixed and stands):
            yield PartRemark(kind="always replaced", family=name, count=held, because=why.because)


def _held(gap: JobGap, family: str) -> int:
    """Count the parts of a family that a gap's trial build or its build in the unit lists."""
    most = 0
    for parts in (gap.trial, gap.now):
        if parts is not None and not isinstance(parts.parts, str):
            listed = gap.build(parts)
            found = [part for places in listed.parts.values() for part in places]
            most = max(most, sum(part.family == family for part in found))
    return most


def _other_linings(gaps: list[JobGap], built: dict[str, GapAssembly]) -> Iterator[PartRemark]:
    """Tell what it makes that a gap was read over other linings than go in."""
    for gap in gaps:
        parts = gap.trial
        if parts is None or isinstance(parts.parts, str):
            continue
        listed = gap.build(parts)
        layout = gap.written.arrangements[listed.layout]
        if layout.space.trial_factor:
            yield from _differing(gap, layout, listed, built.get(gap.name))


def _differing(
    gap: JobGap, layout: Arrangement, listed: ListedBuild, built: GapAssembly | None
) -> Iterator[PartRemark]:
    case = gap.case
    chosen = {step.label: step.thickness for step in built.steps} if built else {}
    total: dict[tuple[str, Length, Length], tuple[int, Length]] = {}
    for place, label in zip(layout.stack, layout.labels, strict=True):
        family = case.unit.family_name(place.part)
        before, after = gap.tried(place.part), case.fixed_thickness(place.part)
        if before is None and family in case.replaced and len(listed.parts[label]) == 1:
            before, after = listed.parts[label][0].thickness, chosen.get(label)
        lined = case.unit.families[family].kind == "friction"
        if lined and before is not None and after is not None and before != after:
            count, more = total.get((family, before, after), (0, ZERO))
            add = (before - after) * place.factor * layout.sign
            total[family, before, after] = count + 1, more + add
    if total and gap.missing():  # what was read over them is no reading
        return
    for (family, before, after), (count, more) in total.items():
        yield PartRemark(
            kind="other linings", family=family, gap=gap.name, count=count, found=before,
            new=after, more=more,
        )  # fmt: skip


def _lacking(instance: Instance | None) -> Iterator[PartRemark]:
    """Name the parts of trial builds that the shelf does not have."""
    for choice in instance.choices if instance else ():
        count = sum(lot.count for lot in choice.lots if lot.own and lot.tried and not lot.id)
        if count:
            yield PartRemark(
                kind="taken as of this unit", family=choice.family, size=choice.size, count=count,
                found=choice.lots[0].thickness,
            )  # fmt: skip


def _one_or_several(case: Case) -> Iterator[PartRemark]:
    """Ask of a family of which several stacks hold one part each whether it is one part."""
    unit = case.unit
    for name, family in unit.families.items():
        if family.fixed is not None or family.kind in ONE_EACH or name in unit.separate_parts:
            continue
        holding = tuple(
            gap
            for gap, written in unit.gaps.items()
            if all(
                [place.how_many for place in layout.stack if place.part == name] == [(1, 1)]
                for layout in written.arrangements.values()
            )
        )
        if len(holding) > 1:
            yield PartRemark(kind="one part or several", family=name, gaps=holding)


def remark_words(remark: PartRemark, unit: LengthUnit) -> str:
    """Word a remark in one sentence, lengths in the unit asked for."""
    match remark.kind:
        case "worn" | "worn on the shelf":
            return _worn_words(remark, unit)
        case "always replaced":
            old = f"{remark.count} in the drum do" if remark.count > 1 else "one in the drum does"
            held = f"; the {old} not stay" if remark.count else ""
            return f"{remark.family}: always replaced, new goes in{held} ({remark.because})"
        case "other linings":
            more = remark.more or ZERO
            each = abs((remark.found or ZERO) - (remark.new or ZERO))
            return (
                f"{remark.gap}: read over {remark.family} {show(remark.found or ZERO, unit)}, "
                f"{show(remark.new or ZERO, unit)} goes in: {remark.count} x {show(each, unit)} = "
                f"{show(abs(more), unit)} {'more' if more > ZERO else 'less'}"
            )
        case "taken as of this unit":
            return (
                f"{remark.count} x {remark.part} of the trial build not on the shelf: taken as of "
                "this unit"
            )
        case "one part or several":
            return (
                f"{remark.family}: one in each of {' and '.join(remark.gaps)}; one part, or "
                f"{len(remark.gaps)}? Counted as {len(remark.gaps)} until the unit file says "
                "`separate parts` or `shared parts`"
            )


def _worn_words(remark: PartRemark, unit: LengthUnit) -> str:
    shelf = remark.kind == "worn on the shelf"
    where = "shelf: " if shelf else f"{remark.gap}: " if remark.gap else ""
    many = f"{remark.count} x " if remark.count > 1 else ""
    found, least = show(remark.found or ZERO, unit), show(remark.least or ZERO, unit)
    then = "not used" if shelf else "not used again"
    if remark.new is not None:
        then = f"counted as new, {show(remark.new, unit)}: measure the one that goes in"
    named = f"bin {remark.where}" if shelf and remark.where else remark.where
    what = f"WORN: {where}{many}{remark.part} {found}" + (f", {named}" if named else "")
    return f"{what}, under its wear limit {least}; {then}"
