"""Renders a page from a template, with the text that every page shows."""

from __future__ import annotations

from gapwright.fit.text import CAUTION
from gapwright.output.template import fill_in


def render_page(template: str, **names: object) -> str:
    """Render a template of `gapwright/templates/serve`."""
    return fill_in(f"serve/{template}", caution=" ".join(CAUTION.split()), **names)
