"""The unit file's rules, over choices."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.problem.instance import ChoiceRule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from solver.problem.instance import RuleKind
    from specs.models.lot import Lot
    from specs.models.unit import Rule as Written
    from specs.models.unit import Unit


def rules_of(
    unit: Unit, groups: list[tuple[Lot, ...]], gaps: tuple[str, ...]
) -> Iterator[ChoiceRule]:
    """The rules that can be judged on the gaps being built.

    While some gaps wait, a rule over the whole job that asks for a part is left for later: the
    part may lie in a gap that waits.
    """
    waiting = len(gaps) < len(unit.gaps)
    for written in unit.rules:
        if written.in_ is not None and written.in_ not in gaps:
            continue
        gap = -1 if written.in_ is None else gaps.index(written.in_)
        for kind, bound in _kinds(written):
            if waiting and gap < 0 and kind in ("must", "at least"):
                continue
            yield ChoiceRule(
                words=rule_words(written),
                first=_meant(groups, written.with_ or written.count),
                second=_meant(groups, written.must or written.never),
                kind=kind,
                bound=bound,
                gap=gap,
                preference=written.preference,
            )


def _kinds(rule: Written) -> Iterator[tuple[RuleKind, int]]:
    if rule.must:
        yield "must", 0
    if rule.never:
        yield "never", 0
    if rule.at_most is not None:
        yield "at most", rule.at_most
    if rule.at_least is not None:
        yield "at least", rule.at_least


def _meant(groups: list[tuple[Lot, ...]], text: str | None) -> frozenset[int]:
    family, _, size = (part.strip() for part in (text or "").partition("/"))
    return frozenset(
        index
        for index, group in enumerate(groups)
        if group[0].family == family and size in ("", group[0].size)
    )


def rule_words(rule: Written) -> str:
    """Say a rule in words, with its reason."""
    if rule.with_:
        words = f"{rule.with_} needs {rule.must}" if rule.must else ""
        words = words or f"{rule.with_} never with {rule.never}"
    else:
        bounds = [f"at most {rule.at_most}"] * (rule.at_most is not None)
        bounds += [f"at least {rule.at_least}"] * (rule.at_least is not None)
        words = f"{' and '.join(bounds)} of {rule.count}"
    place = f" in {rule.in_}" if rule.in_ else ""
    return words + place + (f" ({rule.because})" if rule.because else "")
