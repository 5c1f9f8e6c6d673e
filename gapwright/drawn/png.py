"""The door to resvg: an SVG becomes a PNG. It comes with the extra `pictures`."""

from __future__ import annotations

from specs.errors import InputError, Problem

MISSING = "a .png needs one library more: pip install resvg-py; or name an .svg"
ZOOM = 2.0  # for print and for screens with fine dots
DPI = 96  # what CSS makes of a millimetre


def check_png() -> None:
    """Raise InputError where no PNG can be made here."""
    try:
        import resvg_py  # noqa: F401 - only whether it is there
    except ImportError:
        raise InputError(Problem(MISSING)) from None


def png_of(svg: str) -> bytes:
    """Rasterise a drawing; raises InputError where the extra is missing."""
    check_png()
    import resvg_py

    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=ZOOM, dpi=DPI))
