"""What the description of the API (OpenAPI) says of each address."""

from __future__ import annotations

from typing import Any

from gapwright.web import api
from gapwright.web.request import Route, Told
from specs.files.parse import File

LENGTHS = {"lengths": "Print lengths in this unit: in, mm or thou."}
LENGTH = {"$ref": "#/components/schemas/PrintedLength"}


def schemas() -> dict[str, Any]:
    """The JSON Schemas of what is sent and what comes back."""
    job = File.model_json_schema(ref_template="#/components/schemas/{model}")
    return {
        **job.pop("$defs"),
        "Job": {**job, "title": "Job", "required": ["job"]},
        "PrintedLength": {
            "type": "object",
            "description": "A length: `nm` is exact, a whole number or a fraction as text.",
            "properties": {"nm": {"type": ["integer", "string"]}, "shown": {"type": "string"}},
            "required": ["nm", "shown"],
        },
    }


def _shaped(name: str, words: str, **properties: dict[str, Any]) -> dict[str, Any]:
    """An answer of a versioned shape, by the keys a reader looks for first."""
    return {
        "type": "object",
        "description": words,
        "properties": {"shape": {"const": f"gapwright {name} 1"}, **properties},
        "required": ["shape", *properties],
    }


def _list(**properties: dict[str, Any]) -> dict[str, Any]:
    one = {"type": "object", "properties": properties, "required": [*properties]}
    return {"type": "array", "items": one}


TEXT, FLAG = {"type": "string"}, {"type": "boolean"}
SENT = {"$ref": "#/components/schemas/Job"}
FIT = _shaped(
    "fit", "As `gapwright fit --json` prints it; DEVELOPERS.md lists every key.",
    answer={"enum": ["fit", "no fit", "undecided"]}, proved=FLAG, job=TEXT, unit=TEXT,
    waiting=_list(gap=TEXT),
)  # fmt: skip
CHECK = _shaped(
    "check", "As `gapwright check --json` prints it; DEVELOPERS.md lists every key.",
    gaps=_list(name=TEXT, measured=LENGTH, promised=LENGTH),
)  # fmt: skip
FILES = _shaped(
    "files", "By section, the files that hold one and the name it gives itself.",
    unit=_list(file=TEXT, name=TEXT), shelf=_list(file=TEXT, name=TEXT),
    job=_list(file=TEXT, name=TEXT), ledgers={"type": "array", "items": TEXT},
)  # fmt: skip
READING = {"reading": TEXT, "what": TEXT, "places": {"type": "integer"}}
ASKED = _shaped(
    "asked", "Readings with their conditions, and the places of each trial build.",
    gaps=_list(gap=TEXT, window=TEXT, readings=_list(**READING)),
)  # fmt: skip
READINGS = _shaped(
    "readings", "Of each reading its average, lowest, highest and spread.",
    readings=_list(reading=TEXT, places={"type": "integer"}, average=LENGTH, spread=LENGTH),
    problems=_list(sentence=TEXT, field=TEXT),
)  # fmt: skip
FIT_FIELDS = {
    "best": f"List so many best builds, 1 to {api.MOST_BEST}.",
    "why": "`yes` says what each aim costs and how far each reading may be off.",
}

API = (
    Route("/api/files", api.files, told=Told("What the folder holds", returns=FILES)),
    Route(
        "/api/asked", api.asked,
        told=Told(
            "What a unit asks for at the bench", returns=ASKED,
            fields={"unit": "The file of the unit.", **LENGTHS}, needs=("unit",),
        ),
    ),
    Route(
        "/api/readings", api.readings, "POST",
        told=Told("Average and spread of a job's readings", SENT, READINGS, LENGTHS),
    ),
    Route(
        "/api/fit", api.fit, "POST", solves=True,
        told=Told("The build of a job, or no fit and why", SENT, FIT, {**FIT_FIELDS, **LENGTHS}),
    ),
    Route(
        "/api/check", api.check, "POST", solves=True,
        told=Told("What was measured after assembly beside the promise", SENT, CHECK, LENGTHS),
    ),
)  # fmt: skip
