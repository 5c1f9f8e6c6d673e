"""A picture as PNG: refused in a sentence where its words could not be drawn."""

from __future__ import annotations

from functools import partial

import pytest

from gapwright.drawing.png import check_png
from specs.errors import InputError


def test_without_a_font_no_png_is_drawn_without_its_words(monkeypatch: pytest.MonkeyPatch) -> None:
    resvg = pytest.importorskip("resvg_py")
    without = partial(resvg.svg_to_bytes, skip_system_fonts=True)
    monkeypatch.setattr(resvg, "svg_to_bytes", without)
    with pytest.raises(InputError, match="needs a font, and none is installed here"):
        check_png()
