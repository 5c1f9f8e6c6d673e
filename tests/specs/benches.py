"""An invented unit with every way to read a gap, and short names for what tests ask of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.gaps.job_gap import JobGap, Space
from specs.values.lengths import Length, parse_length
from tests.specs.drums import Swap, taken

if TYPE_CHECKING:
    from specs.models.case import Case

BENCH = """\
length: mm
unit:
  gauges: {feeler: 0.05, calliper: 0.01, dial: 0.002}
  families:
    plate: {kind: pressure plate, fixed: 4.00}
    steel: {kind: steel, sizes: {thick: 2.00, thin: 1.60}}
    disc: {kind: friction, fixed: 1.50}
    ring: {kind: ring, sizes: {A: 1.50, B: 1.80}}
    shim: {kind: shim, sizes: [0.10, 0.25]}
  readings:
    gasket: {what: the new gasket, gauge: calliper, state: {gasket: pressed}}
  facts: {oil: {values: [old, new], default: old}}
  packs:
    low:
      window: {gap: 0.5 to 0.9, state: {discs: soaked, load: light}}
      space: depth - edge + l/3
      readings:
        depth: {what: case face to piston, gauge: dial}
        edge: thickness of the straightedge
        l: {what: a stamped offset, signed: yes}
      allowances:
        - {state: {discs: dry}, add: -0.10, because: linings swell}
        - {state: {load: heavy}, add: 0.04}
        - {state: {discs: dry, load: none}, add: -0.16}
      stack: [plate, disc, steel, disc, ring]
    high:
      window: 0.5 to 0.9
      space: 2 * trial stack - trial stack + gap + 0.2
      layouts:
        plain: {rank: 0, stack: [plate, disc, steel, ring]}
        shimmed: {rank: 1, stack: [plate, disc, steel, *shims, ring]}
    fast:
      window: {gap: 0.5 to 0.9, state: {discs: soaked}}
      stack: [plate, disc, plate]
    tall:
      window: {gap: 9.0 to 9.4, on: height}
      space: trial stack - gap
      layouts: {only: {stack: [plate, disc, steel, ring]}}
  end plays:
    front:
      window: {gap: 0.1 to 0.3, state: {gasket: pressed}}
      space: depth + gasket
      readings: {depth: pump face to washer seat}
      stack: [{part: shim, how many: 0 to 3}]
    rear:
      window: 0.1 to 0.3
      space: gasket/2 - 0.10
      allowances: [{state: {gasket: loose}, add: -0.05}]
      stack: [{part: shim, how many: 0 to 3}]
shelf: {}
job:
  gaps:
    low: {readings: {depth: [12.00, 12.10, 12.30], edge: 0.50, l: -0.20}}
""".replace("*shims", "{part: shim, how many: 1 to 2, factor: 1/2}")
LOW: Swap = ("    low: {readings: {depth: [12.00, 12.10, 12.30], edge: 0.50, l: -0.20}}\n", "")


def mm(text: str) -> Length:
    return parse_length(f"{text} mm")


def bench(*gaps: str) -> Case:
    """The bench with other readings in place of those of `low`."""
    return taken(BENCH, (LOW[0], "".join(f"    {gap}\n" for gap in gaps)))


def space(case: Case, gap: str, layout: str = "stack") -> Space:
    assert JobGap(case, gap).missing() == ()
    return JobGap(case, gap).space(layout)
