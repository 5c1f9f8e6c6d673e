"""The door to Jinja2: a template of ours filled in, every text escaped."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import jinja2


def fill_in(template: str, **names: object) -> str:
    """Fill in a template of `gapwright/templates`; a name it lacks is a fault of ours."""
    return _templates().get_template(template).render(names)


@cache
def _templates() -> jinja2.Environment:
    """The templates, each read and compiled once."""
    import jinja2

    return jinja2.Environment(
        loader=jinja2.PackageLoader("gapwright"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
