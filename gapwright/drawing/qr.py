"""The connection to segno: a text as a QR code in SVG."""

from __future__ import annotations

from gapwright.drawing.svg import Svg

QUIET = 4  # modules of white all round, as ISO/IEC 18004 asks for


def qr_code(text: str) -> Svg:
    """Draw a text as a QR code for phones and scanners, with the white margin it needs."""
    import segno

    code = segno.make(text, error="m", micro=False)
    return Svg(code.svg_inline(border=QUIET, omitsize=True, title=text))
