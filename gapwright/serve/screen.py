"""A page on the screen: a template of ours with what stands on every page."""

from __future__ import annotations

from gapwright.drawn.pages import fill_in
from gapwright.fit.words import CAUTION


def screen(template: str, **names: object) -> str:
    """Fill in a template of `gapwright/templates/serve`."""
    return fill_in(f"serve/{template}", caution=" ".join(CAUTION.split()), **names)
