"""JSON Schema of the input files, for editors: one for all of them."""

from __future__ import annotations

import json
from functools import cache

from specs.files.parse import File

SECTIONS = ("unit", "shelf", "job", "kit")


@cache
def schema_text(section: str = "") -> str:
    """Give the JSON Schema of the files that people write.

    With the name of a section, the schema asks for that section: what files written before name
    in their first line.
    """
    needed = [{"required": [name]} for name in SECTIONS if section in ("", name)]
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **File.model_json_schema(),
        "title": f"gapwright {section} file" if section else "gapwright file",
        **(needed[0] if section else {"anyOf": needed}),
    }
    return json.dumps(schema, indent=1) + "\n"
