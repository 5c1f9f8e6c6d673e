"""Small jobs written by hand, for roads that random ones hardly take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from specs.files.read import case_of
from specs.formats.yaml import parse
from tests.oracles.against_brute import TriedJob, brute_of

if TYPE_CHECKING:
    from specs.models.case import Case

# Two washers for two gaps: one way round the misses add up to less, the other way round the
# larger of them is less.
RIVALS = """
length: mm
unit:
  families: {washer: {kind: washer, sizes: {X: 1.00, Y: 1.38}}}
  end plays:
    front play: {window: 0.10 to 0.40, space: d, readings: {d: room}, stack: [washer]}
    rear play: {window: 0.10 to 0.31, space: d, readings: {d: room}, stack: [washer]}
shelf: {washer: {X: 1, Y: 1}}
job:
  gaps:
    front play: {readings: {d: 1.40}}
    rear play: {readings: {d: 1.39}}
"""

# One thick steel for two packs: the pack that shifts is spared the thin one.
WORKS = """
length: mm
unit:
  families: {steel: {kind: steel, sizes: {thin: 1.6, thick: 1.8}}}
  packs:
    low drum:
      works: holds
      window: 0.1 to 0.5
      space: d
      readings: {d: room}
      stack: [steel]
    high drum: {window: 0.1 to 0.5, space: d, readings: {d: room}, stack: [steel]}
shelf: {steel: {thin: 1, thick: 1}}
job:
  gaps:
    low drum: {readings: {d: 2.0}}
    high drum: {readings: {d: 2.0}}
"""

# Two shims would fit where one at most may lie.
ONE_SHIM = """
length: mm
unit:
  families: {shim: {kind: shim, sizes: {A: 0.1, B: 0.2}}}
  end plays:
    front play:
      window: 0.1 to 0.2
      space: d
      readings: {d: room}
      stack: [{part: shim, how many: 0 to 1}]
shelf: {shim: {A: 3, B: 3}}
job: {gaps: {front play: {readings: {d: 0.45}}}}
"""

# Two of three shims come out, and none goes in.
FEWER = """
length: mm
unit:
  families: {shim: {kind: shim, sizes: {A: 0.1, B: 0.2}}}
  end plays:
    front play:
      window: 0.1 to 0.2
      space: d
      readings: {d: room}
      stack: [{part: shim, how many: 0 to 3}]
  aims: [layout, change, spare]
shelf: {shim: {A: 1}}
job: {gaps: {front play: {readings: {d: 0.35}, now: [[A, A, B]]}}}
"""

# A rule asks for a washer that only the shared part could be, and no chosen layout holds it.
ABSENT = """
length: mm
unit:
  families: {washer: {kind: washer, sizes: {A: 1.0, B: 1.2}}, ring: {kind: ring, sizes: {R: 1.5}}}
  shared parts: {joint: {family: washer}}
  end plays:
    front play:
      window: 0.1 to 0.4
      space: d
      readings: {d: room}
      layouts: {bare: {rank: 0, stack: [ring]}, full: {rank: 1, stack: [ring, joint]}}
    rear play:
      window: 0.1 to 0.4
      space: d
      readings: {d: room}
      layouts: {bare: {rank: 0, stack: [ring]}, full: {rank: 1, stack: [ring, joint]}}
  rules: [{count: washer, at least: 1}]
shelf: {washer: {A: 1, B: 1}, ring: {R: 2}}
job:
  gaps:
    front play: {readings: {d: 1.7}}
    rear play: {readings: {d: 1.7}}
"""

# The shared part now in leaves both gaps with their layouts: one part comes out, not two.
LEAVES = """
length: mm
unit:
  families: {washer: {kind: washer, sizes: {A: 1.0, B: 1.2}}}
  shared parts: {joint: {family: washer, reach: 3}}
  end plays:
    front play:
      window: 0.1 to 0.2
      space: d
      readings: {d: room}
      layouts: {one: {rank: 0, stack: [washer, washer]}, two: {rank: 1, stack: [washer, joint]}}
    rear play:
      window: 0.1 to 0.2
      space: d
      readings: {d: room}
      layouts: {one: {rank: 0, stack: [washer]}, two: {rank: 1, stack: [joint]}}
shelf: {washer: {A: 5, B: 1}}
job:
  gaps:
    front play: {readings: {d: 2.15}, now: {layout: two, parts: [A, A]}}
    rear play: {readings: {d: 1.15}, now: {layout: two, parts: [A]}}
"""

# A washer or the shared part would do; what getting at the shared part takes stands at its place.
REACHED = """
length: mm
unit:
  families: {washer: {kind: washer, sizes: {A: 1.0, B: 1.2}}}
  shared parts: {joint: {family: washer}}
  end plays:
    front play:
      window: 0.1 to 0.2
      space: d
      readings: {d: room}
      stack: [{part: washer, reach: 2}, {part: joint, reach: 3}]
    rear play: {window: 0.1 to 0.4, space: d, readings: {d: room}, stack: [joint]}
  aims: [layout, change, spare]
shelf: {washer: {A: 2, B: 2}}
job:
  gaps:
    front play: {readings: {d: 2.35}, now: [A, A]}
    rear play: {readings: {d: 1.35}, now: [A]}
"""

# A fixed part is exchanged for another at a place that keeps its name.
NAMED = """
length: mm
unit:
  families:
    washer: {kind: washer, sizes: {A: 1.0, B: 1.2}}
    full: {kind: spacer, fixed: 2.0}
    cut: {kind: spacer, fixed: 1.8}
  end plays:
    front play:
      window: 0.1 to 0.2
      space: d
      readings: {d: room}
      layouts:
        one: {rank: 0, stack: [washer, {part: full, name: plate}]}
        two: {rank: 1, stack: [washer, {part: cut, name: plate}]}
shelf: {washer: {A: 5, B: 1}}
job:
  gaps:
    front play: {readings: {d: 3.15}, now: {layout: two, parts: [A]}}
"""

# A rule asks for a washer that only the gap which still waits for its reading can hold.
WAITS = """
length: mm
unit:
  families: {washer: {kind: washer, sizes: {A: 1.0, B: 1.2}}}
  end plays:
    front play: {window: 0.1 to 0.2, space: d, readings: {d: room}, stack: [washer]}
    rear play: {window: 0.1 to 0.2, space: d, readings: {d: room}, stack: [washer]}
  rules: [{count: washer/B, at least: 1}]
shelf: {washer: {A: 1, B: 1}}
job: {gaps: {front play: {readings: {d: 1.15}}}}
"""

# A thin steel or a narrow ring would do, and the steel is cheaper; both together would do nothing.
WANTING = """
length: mm
unit:
  families:
    steel:
      kind: steel
      sizes: {thick: {thickness: 2.0, price: 1}, thin: {thickness: 1.6, price: 2}}
    ring:
      kind: ring
      sizes: {A: {thickness: 1.5, price: 1}, C: {thickness: 1.1, price: 3}}
  packs:
    low drum: {window: 0.8 to 1.2, space: d, readings: {d: room}, stack: [steel, ring]}
shelf: {steel: {thick: 2}, ring: {A: 1}}
job: {gaps: {low drum: {readings: {d: 4.0}}}}
"""


def case_from(text: str) -> Case:
    """Read a job written by hand."""
    return case_of(parse(text, "told.yaml"))


def tried_by_hand(text: str) -> TriedJob:
    """A job written by hand with what brute force says of it."""
    case = case_from(text)
    brute = brute_of(case)
    assert brute is not None
    best = brute.best()
    return TriedJob(-1, frozenset(), case, best, None if best else brute.nearest())
