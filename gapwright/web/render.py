"""A page on the screen: a template of ours with what stands on every page."""

from __future__ import annotations

from gapwright.fit.text import CAUTION
from gapwright.output.template import fill_in


def screen(template: str, **names: object) -> str:
    """Fill in a template of `gapwright/templates/serve`."""
    return fill_in(f"serve/{template}", caution=" ".join(CAUTION.split()), **names)
