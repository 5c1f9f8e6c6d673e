"""Makes the responses for requests that cannot be answered: one sentence, and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.output.answers import dump
from gapwright.web.answer import ProblemAnswer, ProblemsAnswer
from gapwright.web.render import render_page
from gapwright.web.request import JSON, PageResponse
from gapwright.web.security import Refused
from specs.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Sequence


ABOUT = (
    "What the bench page asks, for scripts. A job is sent as a job file is written, as JSON: "
    "numbers may be numbers or texts, and are read as decimals. `unit` and `shelf` are sections, "
    "or names of files in the folder the page was opened on."
)
WRONG_HOST = "The server does not go by the name it was asked by, or the request is malformed."
OTHER_SITE = "The request comes from a page of another site, or shows no token where one is asked."
WRONG_INPUT = "Something in what was sent or in a file cannot be taken; every problem is listed."
NO_LENGTH = "The request does not state its length."
TOO_LARGE = "The request is larger than 1 MB."
CROWDED = "Too many are waiting for the solver; try again in a moment."
HEADINGS = {404: "nothing here", 405: "nothing here", 408: "too slow", 413: "too large",
            500: "a fault of ours", 503: "too many at once"}  # fmt: skip


def refused(found: Refused, *, as_json: bool = False) -> PageResponse:
    """Return the response for a request that was refused."""
    if as_json:
        return _problems([Problem(found.sentence)], found.status)
    heading = HEADINGS.get(found.status, "not let in")
    page = render_page("refused.html", heading=heading, sentences=[found.sentence])
    return PageResponse(page, found.status)


def unknown(path: str, status: int) -> PageResponse:
    """Return the response for an address without a page."""
    sentence = "nothing stands at this address; begin at the front page"
    return refused(Refused(status, sentence), as_json=path.startswith("/api/"))


def let_in(wrong: Refused | None = None, *, as_json: bool = False) -> PageResponse:
    """Return the response that asks for the token.

    Parameters
    ----------
    wrong
        Why the token shown before was refused, if one was.
    as_json
        Whether to answer a script in JSON.
    """
    if as_json:
        sentence = "show the token printed at the start: Authorization: Bearer TOKEN"
        return _problems([Problem(sentence)], 403)
    return PageResponse(
        render_page("enter.html", wrong=wrong.sentence if wrong else ""),
        wrong.status if wrong else 403,
    )


def failed(problems: Sequence[Problem], *, as_json: bool) -> PageResponse:
    """Return the response that lists every problem with what was sent."""
    if as_json:
        return _problems(problems, 422)
    page = render_page(
        "refused.html", heading="this cannot be taken yet", sentences=[*map(str, problems)]
    )
    return PageResponse(page, 422)


def _problems(problems: Sequence[Problem], status: int) -> PageResponse:
    answer = ProblemsAnswer(problems=[*map(ProblemAnswer, problems)])
    return PageResponse(dump(answer, "in", compact=True), status, JSON)
