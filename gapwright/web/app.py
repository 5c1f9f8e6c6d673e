"""Wraps FastAPI and uvicorn: maps addresses to pages, and admits requests.

No other module imports the web framework. A page that may search waits in the fair queue without
blocking the event loop; the others run on the framework's threads.
"""

from __future__ import annotations

import asyncio
import socket
from concurrent.futures import Future
from contextlib import asynccontextmanager, suppress
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import parse_qsl

import fastapi
import h11
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from uvicorn.protocols.http.h11_impl import H11Protocol

from gapwright.output.answer_schema import either
from gapwright.web import security as guard
from gapwright.web.answer import ProblemsAnswer
from gapwright.web.error_pages import (
    ABOUT,
    CROWDED,
    NO_LENGTH,
    OTHER_SITE,
    TOO_LARGE,
    WRONG_HOST,
    WRONG_INPUT,
    failed,
    let_in,
    refused,
    unknown,
)
from gapwright.web.fair_queue import FairQueue, QueueFullError
from gapwright.web.request import (
    JSON,
    SCHEMAS,
    ApiDescription,
    Fields,
    PageRequest,
    PageResponse,
    Route,
)
from solver.engines.limits import Limits
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Awaitable, Callable, Sequence

    from gapwright.web.folder import Shop
    from gapwright.web.security import Refused, Sessions

    Next = Callable[[fastapi.Request], Awaitable[Response]]


App = fastapi.FastAPI
STILL_THERE = 0.25  # seconds between looks at whether the client still waits
FORM = "application/x-www-form-urlencoded"
OPEN = ("/bench.css", "/bench.js")
"""Served without a token or a session, because the page that asks for the token needs them."""
ENTER, OPENAPI = "/enter", "/api/openapi.json"


class Server:
    """The pages of one folder, and the state they share.

    Parameters
    ----------
    shop
        The folder and its shelf.
    hosts
        The names by which the server may be addressed.
    sessions
        The token, and the sessions of those who have shown it.
    """

    def __init__(self, shop: Shop, hosts: Sequence[str], sessions: Sessions) -> None:
        self.shop, self.hosts, self.sessions = shop, {*hosts}, sessions
        self.turns = FairQueue(shop.seconds)

    async def answer(self, route: Route, request: fastapi.Request) -> Response:
        """Let a page answer a request.

        Where no token is required, a request for a page begins a session.
        """
        session = request.state.session
        looks = route.method == "GET" and route.description is None and route.path not in OPEN
        if session or self.sessions.token or not looks:
            return await self._answer(route, request, session)
        session = self.sessions.open()
        response = await self._answer(route, request, session)
        _keep(response, session)
        return response

    async def _answer(self, route: Route, request: fastapi.Request, session: str) -> Response:
        body = await request.body()
        changes = route.method == "POST" and route.description is None
        is_form = request.headers.get("content-type", FORM).partition(";")[0] == FORM
        sent = body.decode("utf-8", "replace") if route.method == "POST" and is_form else ""
        if guard.too_many_fields(request.url.query) or guard.too_many_fields(sent):
            return _sent(refused(guard.TOO_MANY_FIELDS, as_json=route.description is not None))
        fields = _fields(request.url.query) + _fields(sent)
        if changes and not self.sessions.holds(session, dict(fields).get("key", "")):
            return _sent(refused(guard.Refused(403, "this form is not ours or too old; reload it")))
        page_request = PageRequest(
            self.shop, request.scope["path"], fields, dict(request.path_params), body, is_form,
            self.sessions.key(session),
        )  # fmt: skip
        try:
            if route.solves:
                return _sent(await self._in_turn(route, page_request, request))
            return _sent(await run_in_threadpool(route.answer, page_request))
        except InputError as error:
            problems = [self.shop.relative(problem) for problem in error.problems]
            return _sent(failed(problems, as_json=route.description is not None))
        except QueueFullError:
            return _sent(
                refused(guard.Refused(503, CROWDED), as_json=route.description is not None)
            )

    async def _in_turn(
        self, route: Route, page_request: PageRequest, request: fastapi.Request
    ) -> PageResponse:
        """Wait in the fair queue for an answer; stop the search when the client has left."""
        answer: Future[object] = Future()
        who = request.state.session or _address(request)

        def work(limits: Limits) -> PageResponse:
            return route.answer(replace(page_request, limits=limits))

        watch = self.turns.ask(who, work, answer)
        waiting = asyncio.ensure_future(asyncio.wrap_future(answer))
        while not waiting.done():
            await asyncio.wait((waiting,), timeout=STILL_THERE)
            if not waiting.done() and await request.state.has_left():
                watch.stop()
                if answer.cancel():
                    return refused(guard.Refused(503, "nobody waits for this any more"))
        return cast("PageResponse", await waiting)

    async def check(self, request: fastapi.Request, onward: Next) -> Response:
        """Apply the rules of `security` before any page, and set the security headers."""
        return _guarded(await self._checked(request, onward))

    async def _checked(self, request: fastapi.Request, onward: Next) -> Response:
        found = self._refused(request) or await _arrived(request)
        if found:
            return _sent(refused(found, as_json=_is_api(request)))
        session, path = request.cookies.get(guard.COOKIE, ""), request.scope["path"]
        request.state.session = session if self.sessions.knows(session) else ""
        request.state.has_left = request.is_disconnected  # a middleware's request alone can tell
        if not self.sessions.token or path in OPEN:
            return await onward(request)
        if request.method == "POST" and path == ENTER:
            return await self._enter(request)
        if request.state.session:
            return await onward(request)
        bearer = request.headers.get("authorization", "").removeprefix("Bearer ")
        if not _is_api(request) or not bearer:
            return _sent(let_in(as_json=_is_api(request)))
        wrong = self.sessions.turned_away(bearer, _address(request))
        return _sent(refused(wrong, as_json=True)) if wrong else await onward(request)

    def _refused(self, request: fastapi.Request) -> Refused | None:
        if guard.host_name(request.headers.get("host", "")) not in self.hosts:
            return guard.Refused(400, "this server does not go by that name")
        return guard.refuse(request.method, request.scope["path"], request.headers)

    async def _enter(self, request: fastapi.Request) -> Response:
        """Begin a session for whoever sends the token, or say why not."""
        sent = (await request.body()).decode("utf-8", "replace")
        if guard.too_many_fields(sent):
            return _sent(refused(guard.TOO_MANY_FIELDS))
        wrong = self.sessions.turned_away(dict(_fields(sent)).get("token", ""), _address(request))
        if wrong:
            return _sent(let_in(wrong))
        response = Response(status_code=303, headers={"Location": "/"})
        _keep(response, request.state.session or self.sessions.open())
        return response


def app_of(server: Server, routes: Sequence[Route], schemas: Callable[[], dict[str, Any]]) -> App:
    """Make the web application, with every route behind the security rules.

    Parameters
    ----------
    server
        Answers the requests.
    routes
        The addresses, with their pages.
    schemas
        Gives the JSON Schemas that the OpenAPI description refers to, by name, when somebody
        asks for it.
    """

    @asynccontextmanager
    async def life(_: fastapi.FastAPI) -> AsyncIterator[None]:
        yield
        await run_in_threadpool(server.shop.background_jobs.close)
        await run_in_threadpool(server.turns.close)

    app = fastapi.FastAPI(
        title="gapwright", version="1", description=ABOUT, docs_url=None, redoc_url=None,
        openapi_url=OPENAPI, lifespan=life, redirect_slashes=False,
    )  # fmt: skip
    for route in routes:
        _add(app, server, route)
    written = app.openapi

    @cache
    def described() -> dict[str, Any]:
        described = written()
        described.setdefault("components", {}).setdefault("schemas", {}).update(schemas())
        return described

    app.openapi = described  # type: ignore[method-assign]
    app.middleware("http")(server.check)
    app.add_exception_handler(HTTPException, _no_page)
    app.add_exception_handler(Exception, _fault)
    return app


def _add(app: App, server: Server, route: Route) -> None:
    async def page(request: fastapi.Request) -> Response:
        return await server.answer(route, request)

    description = route.description
    app.add_api_route(
        route.path,
        page,
        methods=_methods(route),
        response_model=None,
        response_class=Response,
        include_in_schema=description is not None,
        summary=description.what if description else None,
        name=route.path.strip("/").replace("/", " "),
        responses=_responses(route) if description else None,  # type: ignore[arg-type]
        openapi_extra=_sends(description) if description else None,
    )


def _methods(route: Route) -> list[str]:
    return (
        ["GET", "HEAD"] if route.method == "GET" and route.description is None else [route.method]
    )


def _responses(route: Route) -> dict[int, dict[str, Any]]:
    """Return the possible responses of a route, for the OpenAPI description."""
    description = cast("ApiDescription", route.description)
    answers: dict[int, Any] = {200: {"description": "The answer.", **_json(description.returns)}}
    refusals = {400: WRONG_HOST, 403: OTHER_SITE, 422: WRONG_INPUT, 503: CROWDED}
    if route.method == "POST":
        refusals |= {411: NO_LENGTH, 413: TOO_LARGE}
    for status, why in refusals.items():
        answers[status] = {"description": why, **_json(either((ProblemsAnswer,), SCHEMAS))}
    return answers


def _sends(description: ApiDescription) -> dict[str, Any]:
    parameters = [
        {
            "name": name,
            "in": "query",
            "required": name in description.needs,
            "description": what,
            "schema": {"type": "string"},
        }
        for name, what in description.fields.items()
    ]
    sent = (
        {"requestBody": {"required": True, **_json(description.sends)}} if description.sends else {}
    )
    return {"parameters": parameters, **sent}


def _json(schema: dict[str, Any]) -> dict[str, Any]:
    return {"content": {JSON: {"schema": schema}}}


def _is_api(request: fastapi.Request) -> bool:
    return bool(request.scope["path"].startswith("/api/"))


def _address(request: fastapi.Request) -> str:
    """Return the address that a request comes from."""
    return request.client.host if request.client else ""


async def _arrived(request: fastapi.Request) -> Refused | None:
    """Wait a limited time for the whole of a request."""
    try:
        await asyncio.wait_for(request.body(), guard.BODY_SECONDS)
    except TimeoutError:
        return guard.Refused(408, "this request took too long to come")
    return None


async def _no_page(request: fastapi.Request, error: Exception) -> Response:
    status = cast("HTTPException", error).status_code
    return _sent(unknown(request.scope["path"], status))


async def _fault(request: fastapi.Request, error: Exception) -> Response:  # noqa: ARG001 - uvicorn logs it
    found = guard.Refused(500, "this is a fault of gapwright's; the window it runs in says more")
    return _guarded(_sent(refused(found)))


def _fields(text: str) -> Fields:
    return tuple(parse_qsl(text, keep_blank_values=True))


def _sent(response: PageResponse) -> Response:
    headers = {"Location": response.to} if response.to else {}
    if response.save_as:
        headers["Content-Disposition"] = f'attachment; filename="{response.save_as}"'
    if response.inline_style:
        headers["Content-Security-Policy"] = guard.STYLED
    return Response(response.text, response.status, headers, response.kind)


def _guarded(response: Response) -> Response:
    for name, value in guard.HEADERS.items():
        response.headers.setdefault(name, value)
    response.headers.setdefault("Content-Security-Policy", guard.STRICT)
    return response


def _keep(response: Response, session: str) -> None:
    response.set_cookie(guard.COOKIE, session, httponly=True, samesite="strict", path="/")


def answer(app: App, address: str, port: int) -> None:
    """Serve an application until Ctrl-C.

    Parameters
    ----------
    app
        The application.
    address
        The IP address to listen on.
    port
        The port.

    Raises
    ------
    InputError
        Where the port cannot be opened.
    """
    import uvicorn

    settings = uvicorn.Config(
        app, http=PatientProtocol, log_level="warning", access_log=False, server_header=False,
        proxy_headers=False, limit_concurrency=guard.MOST_AT_ONCE, timeout_graceful_shutdown=3,
    )  # fmt: skip
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as door:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            door.bind((address, port))
        except OSError as error:
            sentence = f"cannot be opened ({error.strerror}); name another: --port {port + 1}"
            raise InputError(Problem(sentence, f"port {port}")) from None
        with suppress(KeyboardInterrupt):  # which is how a person ends it
            uvicorn.Server(settings).run(sockets=[door])


HEAD_SECONDS = 5.0
"""Seconds between looks at a connection; it closes where its request is unfinished at two."""


class PatientProtocol(H11Protocol):
    """uvicorn's HTTP protocol, which also closes connections whose request does not arrive."""

    _late = False

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start to look at the connection at intervals."""
        super().connection_made(transport)
        self.loop.call_later(HEAD_SECONDS, self._look)

    def _look(self) -> None:
        """Close the connection where its request is unfinished at two looks in a row."""
        if self.transport.is_closing():
            return
        begun, _ = self.conn.trailing_data
        unfinished = self.conn.their_state is h11.IDLE and (self.cycle is None or bool(begun))
        if unfinished and self._late:
            self.transport.close()
            return
        self._late = unfinished
        self.loop.call_later(HEAD_SECONDS, self._look)
