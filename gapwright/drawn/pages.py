"""The door to Jinja2: a template of ours filled in, every text escaped."""

from __future__ import annotations


def fill_in(template: str, **names: object) -> str:
    """Fill in a template of `gapwright/templates`; a name it lacks is a fault of ours."""
    import jinja2

    pages = jinja2.Environment(
        loader=jinja2.PackageLoader("gapwright"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return pages.get_template(template).render(names)
