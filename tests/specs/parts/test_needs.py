"""How many parts of each family a unit takes."""

from __future__ import annotations

from gapwright.kit.service import Need, needs
from specs.files.read import case_of
from specs.formats.yaml import parse

UNIT = """\
length: mm
unit:
  facts: {pressure: {values: [low, high], default: low}}
  families:
    steel: {kind: steel, sizes: [2.0, 1.6]}
    friction: {kind: friction, fixed: 1.7}
    plate: {kind: pressure plate, sizes: [5.0, 4.0]}
    washer: {kind: washer, sizes: [1.0, 1.3]}
    shim: {kind: shim, sizes: [0.2]}
    unused: {kind: washer, sizes: [3.0]}
  shared parts: {hub washer: washer}
  packs:
    low:
      window: 0.2 to 0.4
      layouts:
        four: {rank: 0, stack: [{repeat: 4, of: [steel, friction]}, plate]}
        five: {rank: 1, only if: {pressure: low}, stack: [{repeat: 5, of: [steel, friction]}]}
    high: {window: 0.2 to 0.4, stack: [steel, friction, plate]}
  end plays:
    front: {window: 0.1 to 0.3, stack: [washer, hub washer]}
    rear: {window: 0.1 to 0.3, stack: [hub washer, {part: shim, how many: 0 to 3}]}
"""


def taken(job: str = "", *gaps: str) -> dict[str, tuple[int, int]]:
    needed = ("unit", "job") if job else ("unit",)
    case = case_of(parse(UNIT + job, "unit.yaml"), needs=needed)
    found = needs(case, gaps or tuple(case.unit.gaps))
    assert all(isinstance(one, Need) for one in found.values())
    return {name: (one.least, one.most) for name, one in found.items()}


def test_each_layout_counts_and_a_shared_part_once() -> None:
    assert taken() == {
        "steel": (5, 6), "friction": (5, 6), "plate": (1, 2), "washer": (2, 2), "shim": (0, 3),
    }  # fmt: skip


def test_a_layout_the_facts_rule_out_is_left_aside() -> None:
    job = "job: {facts: {pressure: high}, gaps: {high: {gap: 0.3, trial: [2.0, 5.0]}}}\n"
    assert taken(job)["steel"] == (5, 5)
    assert taken(job)["plate"] == (2, 2)


def test_only_the_gaps_asked_for_count() -> None:
    assert taken("", "rear") == {"washer": (1, 1), "shim": (0, 3)}
