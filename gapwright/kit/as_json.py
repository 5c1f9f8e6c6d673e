"""A kit's check as JSON, in the shape that DEVELOPERS.md documents."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gapwright.cover.answer import CoveredAnswer
from gapwright.fit.answer import answer_of
from gapwright.output.answers import plain
from gapwright.output.money import exact_money
from gapwright.shelf.as_json import posted_shape
from specs.parts.kit_contents import also_held, gaps_of, kit_of

if TYPE_CHECKING:
    from gapwright.kit.packing import Packed
    from gapwright.kit.service import KitCheck, Lack, LeftOut
    from specs.parts.kit_contents import Sizes
    from specs.values.lengths import Unit

SHAPE, PACKED = "gapwright kit check 1", "gapwright kit pack 1"


def dump_kit(check: KitCheck, unit: Unit | None = None) -> str:
    """Write a check as JSON, ready to print."""
    return json.dumps(_check(check, unit or check.case.length), indent=1, ensure_ascii=False)


def _check(check: KitCheck, unit: Unit) -> dict[str, Any]:
    past, job = check.past, check.job
    return {
        "shape": SHAPE,
        "kit": kit_of(check.case).name,
        "unit": check.case.unit.name,
        "for": [*gaps_of(check.case)],
        "with": [*check.options],
        "complete": check.complete and not check.undecided,
        "decided": not check.undecided,
        "contents": sizes_shape(check.contents),
        "also in it": dict(also_held(check.case, check.options)),
        "price": None if check.price is None else exact_money(check.price),
        "without a price": [*check.unpriced],
        "covers": [plain(CoveredAnswer(one), unit) for one in check.covers],
        "not covered": [{"gap": name, "why": why} for name, why in check.not_covered],
        "nothing to choose": [*check.nothing_to_choose],
        "short": [*map(_lack, check.lacks)],
        "left out": [*map(_left_out, check.left_out)],
        "history": past and {"gaps": [*past.gaps], "drums": past.drums, "served": past.served},
        "job": job and {
            "fit": plain(answer_of(job.report), unit),
            "used": sizes_shape(job.used),
            "left over": sizes_shape(job.left),
        },
    }  # fmt: skip


def _lack(lack: Lack) -> dict[str, Any]:
    takes = {"at least": lack.need.least, "at most": lack.need.most}
    return {"family": lack.family, "held": lack.held, "takes": takes}


def _left_out(part: LeftOut) -> dict[str, Any]:
    return {
        "part": part.name,
        "held": part.held,
        "count": part.count,
        "because": part.because,
        "said by": part.said_by,
    }


def dump_packed(packed: Packed, unit: Unit) -> str:
    """Write what was drawn for kits."""
    packing = packed.packing
    told = {
        "shape": PACKED,
        "kit": kit_of(packing.case).name,
        "count": packing.count,
        "with": [*packing.options],
        "job": packing.name,
        "by hand": sizes_shape(packed.by_hand),
        "posted": posted_shape(packed.posted, unit),
    }
    return json.dumps(told, indent=1, ensure_ascii=False)


def sizes_shape(sizes: Sizes) -> list[dict[str, Any]]:
    """Parts by family and size; the size is null where a family has none to choose from."""
    return [
        {"family": family, "size": size or None, "count": count}
        for (family, size), count in sizes.items()
    ]
