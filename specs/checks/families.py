"""Whether a family of parts fits together: its sizes, grades, wear and features."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.findings import Finding, Path, weigh

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.families import Family
    from specs.values.lengths import Length

LISTED = ("part", "thickness", "gauge", "condition", "flatness", "coning", "found", "note")
"""The columns that a list of measured parts has for every family; its others are features."""
TAKEN = (*LISTED, "family", "kind", "form", "mark")
"""The names that no feature may have."""


def family_findings(path: Path, family: Family) -> Iterator[Finding]:
    """Yield everything wrong with a family, which stands at `path`."""
    if bool(family.sizes) == (family.fixed is not None):
        yield Finding(path, "write either `sizes`, or `fixed` for a part that is never chosen")
    if family.fixed is not None:
        yield weigh((*path, "fixed"), family.fixed, family.kind)
    if family.tolerance:
        yield weigh((*path, "tolerance"), family.tolerance, "tolerance")
    for name, size in family.sizes.items():
        for end in dict.fromkeys((size.thickness.low, size.thickness.high)):
            yield weigh((*path, "sizes", name), end or size.nominal, family.kind)
    if family.form and family.kind != "ring":
        yield Finding((*path, "form"), "only rings have a form; leave it out")
    yield from _wear(path, family)
    yield from _grades(path, family)
    yield from _features(path, family)


def _grades(path: Path, family: Family) -> Iterator[Finding]:
    graded = {name: size.grade for name, size in family.sizes.items() if size.grade}
    if not graded:
        return
    if family.kind != "steel":
        yield Finding((*path, "sizes", next(iter(graded)), "grade"), "only steels have grades")
    for name in family.sizes:
        if name not in graded:
            yield Finding((*path, "sizes", name), "give every size of this family a grade, or none")
    ordered = sorted(family.sizes, key=lambda name: family.sizes[name].nominal)
    seen: list[str | None] = []
    for name in ordered:
        grade = family.sizes[name].grade
        if grade in seen and seen[-1] != grade:
            yield Finding(
                (*path, "sizes", name, "grade"),
                f'grade "{grade}" has a thinner and a thicker grade between its sizes',
            )
        seen.append(grade)


def _features(path: Path, family: Family) -> Iterator[Finding]:
    for name in {*family.features}.union(*(size.features for size in family.sizes.values())):
        if name in TAKEN:
            sentence = f'"{name}" is a name of our own; call this feature something else'
            yield Finding((*path, "features"), sentence)


def _limit(where: Path, limit: Length, kind: str, new: dict[str, Length]) -> Finding:
    """Weigh a wear limit, and hold it against the thinnest of the new parts that it is for."""
    name, least = min(new.items(), key=lambda one: one[1], default=("", limit))
    if limit <= least:
        return weigh(where, limit, kind)
    name = name.replace("{", "{{").replace("}", "}}")
    sentence = (
        f"a new {name} is {{}}, thinner than its wear limit {{}}; write a limit below what is new, "
        "and under a size the limit that is for that size alone"
    )
    return Finding(where, sentence, length=limit, kind=kind, figures=(least, limit))


def _wear(path: Path, family: Family) -> Iterator[Finding]:
    if family.wear_limit is not None:
        new = {
            name: size.nominal
            for name, size in family.sizes.items()
            if size in family.under_its_limit
        }
        if family.fixed is not None:
            new = {"part": family.fixed}
        yield _limit((*path, "wear limit"), family.wear_limit, family.kind, new)
    for name, size in family.sizes.items():
        where = (*path, "sizes", name)
        if size.wears_by is not None:
            yield weigh((*where, "wears by"), size.wears_by, "tolerance")
        if size.wear_limit is not None:
            own = {name: size.nominal}
            yield _limit((*where, "wear limit"), size.wear_limit, family.kind, own)
    for key, length in (
        ("wears by", family.wears_by),
        ("flat within", family.flat_within),
        ("cone within", family.cone_within),
    ):
        if length is not None:
            yield weigh((*path, key), length, "tolerance")
    for name in family.reject_for:
        if name in family.pass_with:
            sentence = f'"{name}" is both passed and rejected; keep one'
            yield Finding((*path, "pass with", name), sentence)
