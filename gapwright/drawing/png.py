"""The door to resvg: an SVG becomes a PNG. It comes with the extra `pictures`."""

from __future__ import annotations

from specs.errors import InputError, Problem

NO_LIBRARY = "a .png needs one library more: pip install resvg-py; or name an .svg"
NO_FONT = "a .png needs a font, and none is installed here: install one; or name an .svg"
ZOOM = 2.0  # for print and for screens with fine dots
BLANK = "<svg xmlns='http://www.w3.org/2000/svg' width='20' height='20'>{}</svg>"
DPI = 96  # what CSS makes of a millimetre


def check_png() -> None:
    """Raise InputError where no PNG can be made here, or one without its words."""
    try:
        import resvg_py  # noqa: F401 - only whether it is there
    except ImportError:
        raise InputError(Problem(NO_LIBRARY)) from None
    if _drawn(BLANK.format("<text y='16'>A</text>")) == _drawn(BLANK.format("")):
        raise InputError(Problem(NO_FONT))


def png_of(svg: str) -> bytes:
    """Rasterise a drawing; raises InputError as `check_png` does."""
    check_png()
    return _drawn(svg)


def _drawn(svg: str) -> bytes:
    import resvg_py

    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=ZOOM, dpi=DPI))
