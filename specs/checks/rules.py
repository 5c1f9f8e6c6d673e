"""Whether a rule is one of the forms a rule can have, over parts that are there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.findings import Finding, Path, near

if TYPE_CHECKING:
    from collections.abc import Iterator

    from specs.models.unit import Rule, Unit


def rule_findings(path: Path, unit: Unit, rule: Rule) -> Iterator[Finding]:
    """Yield all that is wrong with one rule."""
    pair = rule.with_ is not None and (rule.must is None) != (rule.never is None)
    bound = rule.count is not None and not (rule.at_most is None and rule.at_least is None)
    paired = any(value is not None for value in (rule.with_, rule.must, rule.never))
    bounded = any(value is not None for value in (rule.count, rule.at_most, rule.at_least))
    if (pair, bound) != (paired, bounded) or pair == bound:
        yield Finding(
            path, "write `with` and `must` or `never`, or `count` and `at most` or `at least`"
        )
    if rule.at_most is not None and (rule.at_least or 0) > rule.at_most:
        yield Finding(path, f"at least {rule.at_least} is more than at most {rule.at_most}")
    for key, text in (
        ("with", rule.with_), ("must", rule.must), ("never", rule.never), ("count", rule.count),
    ):  # fmt: skip
        if text is not None:
            yield from _reference((*path, key), unit, text)
    if rule.in_ is not None and rule.in_ not in unit.gaps:
        yield Finding((*path, "in"), near(rule.in_, [*unit.gaps], "packs and end plays"))


def _reference(path: Path, unit: Unit, text: str) -> Iterator[Finding]:
    family, _, size = (part.strip() for part in text.partition("/"))
    if family not in unit.families:
        yield Finding(path, near(family, [*unit.families], "families"))
    elif unit.families[family].fixed is not None:
        sentence = "a rule counts chosen parts and this one is fixed; give its family `sizes`"
        yield Finding(path, sentence)
    elif size and size not in unit.families[family].sizes:
        sentence = near(size, [*unit.families[family].sizes], "its sizes")
        yield Finding(path, sentence, leans=("sizes",))
