"""Describes each address of the JSON API, for OpenAPI and for the page that lists them."""

from __future__ import annotations

from typing import Any

from gapwright.check.answer import CheckAnswer
from gapwright.fit.answer import FitAnswer, NoFitAnswer, NothingReadAnswer, UndecidedAnswer
from gapwright.output.answer_schema import definitions, either
from gapwright.output.answers import Answer
from gapwright.web import api
from gapwright.web.answer import AskedAnswer, FilesAnswer, ProblemsAnswer, ReadingsAnswer
from gapwright.web.error_pages import ABOUT
from gapwright.web.render import render_page
from gapwright.web.request import SCHEMAS, ApiDescription, PageRequest, PageResponse, Route
from specs.files.parse import File

LENGTHS = {"lengths": "Print lengths in this unit: in, mm or thou."}
FITS = (FitAnswer, NoFitAnswer, NothingReadAnswer, UndecidedAnswer)
RETURNED = (FilesAnswer, AskedAnswer, ReadingsAnswer, *FITS, CheckAnswer, ProblemsAnswer)


def schemas() -> dict[str, Any]:
    """Return the JSON Schemas of requests and answers, by name."""
    job = File.model_json_schema(ref_template=f"{SCHEMAS}Sent{{model}}")
    return {
        **{f"Sent{name}": one for name, one in job.pop("$defs").items()},
        "SentJob": {**job, "title": "Job", "required": ["job"]},
        **definitions(RETURNED, SCHEMAS),
    }


def _returned(*answers: type[Answer]) -> dict[str, Any]:
    return either(answers, SCHEMAS)


SENT = {"$ref": f"{SCHEMAS}SentJob"}
FIT_FIELDS = {
    "best": f"List so many best builds, 1 to {api.MOST_BEST}.",
    "why": "`yes` says what each aim costs and how far each reading may be off.",
}

API = (
    Route(
        "/api/files", api.files,
        description=ApiDescription("What the folder holds", returns=_returned(FilesAnswer)),
    ),
    Route(
        "/api/asked", api.asked,
        description=ApiDescription(
            "What a unit asks for at the bench", returns=_returned(AskedAnswer),
            fields={"unit": "The file of the unit.", **LENGTHS}, needs=("unit",),
        ),
    ),
    Route(
        "/api/readings", api.readings, "POST",
        description=ApiDescription(
            "Average and spread of a job's readings", SENT, _returned(ReadingsAnswer), LENGTHS
        ),
    ),
    Route(
        "/api/fit", api.fit, "POST", solves=True,
        description=ApiDescription(
            "The build of a job, or no fit and why", SENT, _returned(*FITS),
            {**FIT_FIELDS, **LENGTHS},
        ),
    ),
    Route(
        "/api/check", api.check, "POST", solves=True,
        description=ApiDescription(
            "What was measured after assembly beside the promise", SENT, _returned(CheckAnswer),
            LENGTHS,
        ),
    ),
)  # fmt: skip


def page(request: PageRequest) -> PageResponse:  # noqa: ARG001 - the same for everybody
    """Show the list of the API's addresses."""
    return PageResponse(render_page("api.html", routes=API, about=ABOUT))
