"""The rooms of promises, read from the texts of notes without all else that these hold."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest

from specs.errors import InputError
from specs.files.notes import note_text, promised_in, promised_rooms
from specs.models.record import Promised, PromisedGap
from specs.values.lengths import Length
from tests.amounts import few


def length(draw: Random) -> Length:
    return Length(Fraction(draw.randint(1, 10**8), draw.choice([1, 2, 3])))


def promised(draw: Random) -> Promised:
    """A promise of some gaps at random."""
    gaps = {
        f"pack {nth}": PromisedGap.model_construct(
            layout=draw.choice(["stack", "full plate"]),
            parts=tuple(
                tuple(draw.choice(["thin", "thick 0.0877", ".0700"]) for _ in range(many))
                for many in draw.choices([1, 1, 2], k=3)
            ),
            gap=length(draw), u=length(draw), sure=Fraction(99), space=length(draw),
        )
        for nth in range(draw.randint(1, 3))
    }  # fmt: skip
    one = Promised.model_construct(
        on="2031-04-02", job="J-1", unit="Alder 3", answer="", from_="4C2D-88QF-0XTR",
        gaps=gaps, takes=(),
    )  # fmt: skip
    return one.model_copy(update={"answer": one.code})


@pytest.mark.parametrize("seed", few(range(60)))
def test_they_are_those_of_the_promise_read_whole(seed: int) -> None:
    draw = Random(seed)  # noqa: S311 - for a test
    text = note_text(promised(draw), draw.choice(["in", "mm"]))
    whole = promised_in(text, "shop.db")
    unit, rooms = promised_rooms(text, "shop.db")
    assert unit == whole.unit
    assert {name: (one.layout, one.space, one.parts) for name, one in rooms.items()} == {
        name: (gap.layout, gap.space, gap.parts) for name, gap in whole.gaps.items()
    }


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{}", '{"unit": "A"}', '{"unit": "A", "gaps": []}', '{"unit":"A","gaps":{"low":1}}',
     '{"unit":"A","gaps":{"low":{"layout":"stack","space":"much","parts":[]}}}',
     '{"unit":"A","gaps":{"low":{"layout":"stack","space":5,"parts":[]}}}',
     '{"unit":"A","gaps":{"low":{"layout":"stack","space":"1 in","parts":"all"}}}'],
)  # fmt: skip
def test_a_note_that_is_no_promise_is_said(text: str) -> None:
    with pytest.raises(InputError, match="a note holds no promise"):
        promised_rooms(text, "shop.db")
