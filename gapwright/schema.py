"""JSON Schema of the files, for editors: one for each kind of file."""

from __future__ import annotations

import json

from specs.files.parse import File

SECTIONS = ("unit", "shelf", "job", "kit")


def schema_text(section: str) -> str:
    """The JSON Schema of a file that must hold one section, and may hold the others."""
    schema = File.model_json_schema()
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": f"gapwright {section} file",
        "required": [section],
    }
    return json.dumps(schema, indent=1) + "\n"
