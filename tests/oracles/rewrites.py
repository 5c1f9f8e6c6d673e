"""Ways to write a random job anew whose answer is known from the answer to the job as drawn."""

from __future__ import annotations

import re
from copy import deepcopy
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING, Any

from tests.oracles.random_parts import mm

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.oracles.random_jobs import RandomJob
    from tests.oracles.random_parts import Spec

LENGTH = re.compile(r"(-?[0-9]+\.[0-9]{3})( mm)?")
"""Every length of a random job has three decimals, and nothing else has."""


def rewritten(job: RandomJob, change: Callable[[Spec], None]) -> RandomJob:
    """The job with its document changed."""
    document = deepcopy(job.document)
    change(document)
    return replace(job, document=document)


def with_lengths(job: RandomJob, write: Callable[[int], str], unit: str) -> RandomJob:
    """The job with every length, given in thousandths of a millimetre, as another number."""

    def anew(value: Any) -> Any:  # noqa: ANN401 - a document holds whatever a file can
        if isinstance(value, dict):
            return {key: anew(item) for key, item in value.items()}
        if isinstance(value, list):
            return [anew(item) for item in value]
        if not isinstance(value, str):
            return value
        return LENGTH.sub(
            lambda found: write(int(found[1].replace(".", ""))) + f" {unit}" * bool(found[2]), value
        )

    return replace(job, document=anew(job.document) | {"length": unit})


def gaps(document: Spec) -> Iterator[tuple[str, Spec]]:
    """The packs, then the end plays, each with its name."""
    yield from document["unit"]["packs"].items()
    yield from document["unit"]["end plays"].items()


def layouts(gap: Spec) -> list[Spec]:
    """What holds the stacks of a gap: its layouts, or the gap itself."""
    return [*gap["layouts"].values()] if "layouts" in gap else [gap]


# A fixed part more, and as much more space.


def thicken(document: Spec) -> None:
    """Put a spacer of 3 mm into every stack, and 3 mm more into every space."""
    document["unit"]["families"]["filler"] = {"kind": "spacer", "fixed": mm(3_000)}
    for _, gap in gaps(document):
        for layout in layouts(gap):
            layout["stack"] = [*layout["stack"], "filler"]
        space = gap["space"]
        for layout in layouts(gap):
            sign = "-" if layout["window"].get("on") == "height" else "+"
            # A trial build holds the spacer too, so its space has grown by as much already.
            more = {"+": 0, "-": 6_000}[sign] if "trial stack" in space else 3_000
            own = layout["space"] if layout is not gap and "space" in layout else space
            layout["space"] = f"{own} {sign} {mm(more)}"


# A pack turned end for end.


def turn(document: Spec) -> None:
    """List every stack from its other end, with its ends, its builds and its kept parts."""
    for name, gap in gaps(document):
        work = document["job"]["gaps"][name]
        pack = name in document["unit"]["packs"]
        ends = ["piston", "ring"] if pack else ["front", "rear"]
        gap["ends"] = ends[::-1]
        gap.setdefault("first in", ends[0])
        if pack:
            gap.setdefault("heat end", ends[1])
        _turn_kept(gap, work)
        for layout in layouts(gap):
            layout["stack"] = layout["stack"][::-1]
        for build in ("now", "trial"):
            if build in work:
                work[build]["parts"] = work[build]["parts"][::-1]


def _turn_kept(gap: Spec, work: Spec) -> None:
    """Number the kept parts' places from the other end; in all layouts they number alike."""
    kept = work.get("keep", {})
    counts = {tuple(_parts(layout).count(p) for p in _numbered(kept)) for layout in layouts(gap)}
    if kept and len(counts) > 1:
        del work["keep"]
        return
    work["keep"] = {_other(layouts(gap)[0], label): text for label, text in kept.items()}


def _numbered(labels: Spec) -> list[str]:
    return [label.rpartition(" ")[0] for label in labels if label[-1].isdigit()]


def _parts(layout: Spec) -> list[str]:
    return [place if isinstance(place, str) else place["part"] for place in layout["stack"]]


def _other(layout: Spec, label: str) -> str:
    part, _, number = label.rpartition(" ")
    if not number.isdigit():
        return label
    return f"{part} {_parts(layout).count(part) + 1 - int(number)}"


# What must change nothing.


def split_lots(document: Spec) -> None:
    """Lay every lot of several parts into two bins."""
    for sizes in document["shelf"].values():
        for size, lots in sizes.items():
            parted: list[Spec] = []
            for lot in lots:
                left = lot["count"] - lot.get("reserved", 0)
                if left > 1:
                    parted.append({**lot, "count": 1, "reserved": 0, "bin": "B1"})
                    parted.append({**lot, "count": lot["count"] - 1, "bin": "B2"})
                else:
                    parted.append(lot)
            sizes[size] = parted


def add_useless_lots(document: Spec) -> None:
    """Put parts on the shelf that no place takes: a strange family, and parts worn out."""
    document["unit"]["families"]["other ring"] = {"kind": "ring", "sizes": {"A": mm(1_500)}}
    document["shelf"]["other ring"] = {"A": [{"count": 9}]}
    for name, family in document["unit"]["families"].items():
        limit = family.get("wear limit")
        if limit is not None:
            size = min(family["sizes"], key=lambda key: family["sizes"][key]["thickness"])
            worn = {"count": 5, "thickness": mm(int(limit[:-3].replace(".", "")) - 1)}
            document["shelf"].setdefault(name, {}).setdefault(size, []).append(worn)


def shuffle(document: Spec) -> None:
    """Reorder all that has no order: families, sizes, layouts, lots, rules, the job's gaps."""
    rng = Random(1)  # noqa: S311 - no secret hangs on it
    unit, shelf = document["unit"], document["shelf"]
    for family in unit["families"].values():
        if "sizes" in family:
            family["sizes"] = _shuffled(rng, family["sizes"])
    for _, gap in gaps(document):
        if "layouts" in gap:
            gap["layouts"] = _shuffled(rng, gap["layouts"])
    for sizes in shelf.values():
        for lots in sizes.values():
            rng.shuffle(lots)
    rng.shuffle(unit["rules"])
    document["shelf"] = _shuffled(rng, {n: _shuffled(rng, sizes) for n, sizes in shelf.items()})
    unit["families"] = _shuffled(rng, unit["families"])
    document["job"]["gaps"] = _shuffled(rng, document["job"]["gaps"])
    document["unit"] = _shuffled(rng, unit)


def _shuffled(rng: Random, mapping: Spec) -> Spec:
    keys = [*mapping]
    rng.shuffle(keys)
    return {key: mapping[key] for key in keys}
