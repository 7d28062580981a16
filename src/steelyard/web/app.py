"""The application: everything put together. Begin here; then ``station/station.py``."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute
from starlette.staticfiles import NotModifiedResponse, StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from steelyard.dayfile import DayFileError
from steelyard.store import Store, StoreError, open_store
from steelyard.web.api import ask as api_ask
from steelyard.web.api import days as api
from steelyard.web.api import history as api_history
from steelyard.web.api import learn as api_learn
from steelyard.web.api import lists as api_lists
from steelyard.web.api import live as api_live
from steelyard.web.api import photographs as api_photographs
from steelyard.web.api import plan as api_plan
from steelyard.web.api import recordings as api_recordings
from steelyard.web.api import seals as api_seals
from steelyard.web.api import several as api_several
from steelyard.web.api import verify as api_verify
from steelyard.web.api import yard as api_yard
from steelyard.web.http.guard import HEADERS, Guard
from steelyard.web.http.pairing import Door
from steelyard.web.http.problem import Problem, problem_of
from steelyard.web.http.routes import Address, Folder, May, declared, paths_by_name, route
from steelyard.web.http.sessions import Sessions
from steelyard.web.http.told import Given, Told, Written
from steelyard.web.pages.access import routes as access
from steelyard.web.pages.ask import routes as ask
from steelyard.web.pages.bench import routes as bench
from steelyard.web.pages.compare import routes as compare
from steelyard.web.pages.days import routes as days
from steelyard.web.pages.history import routes as history
from steelyard.web.pages.indicators import routes as indicators
from steelyard.web.pages.learn import routes as learn
from steelyard.web.pages.pads import routes as pads
from steelyard.web.pages.plan import routes as plan
from steelyard.web.pages.shell import frame
from steelyard.web.pages.shell import routes as shell
from steelyard.web.pages.shell.files import PAGES, packed, script_as_sent, sent_files
from steelyard.web.pages.unsent import routes as unsent
from steelyard.web.pages.yard import routes as yard
from steelyard.web.settings import API, Settings
from steelyard.web.station.failed import FailedError
from steelyard.web.station.refused import GoneError, RefusalError
from steelyard.web.station.station import Station


def create_app(
    settings: Settings, *, station: Station | None = None, store: Store | None = None, door: Door | None = None
) -> Starlette:
    """The station as an ASGI application.

    Every request carries ``request.state.station`` (``Station``), ``request.state.viewer`` (``sessions.Viewer``, None
    on the few pages that strangers may see), ``request.state.sessions``, ``request.state.door`` and
    ``request.state.settings``.

    Raises
    ------
    StoreError: the store cannot be opened, or is of a newer version.
    TypeError: an address does not say who may use it.
    """
    if station is None:
        station = Station(open_store(settings.store) if store is None else store, settings)
    station.teller.in_words = _in_words
    sessions = Sessions(station.store, settings)

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncGenerator[None, None]:
        del app
        station.start()
        try:
            yield
        finally:
            await station.close()

    # what is not listed by its own name ends the connection, too
    foreseen: tuple[type[Exception], ...] = (
        *(Problem, HTTPException, StoreError, DayFileError, RefusalError, FailedError, GoneError, Exception),
    )
    routes = addresses()
    app = Starlette(
        routes=routes,
        lifespan=lifespan,
        middleware=[
            Middleware(Guard, settings=settings, sessions=sessions, routes=routes),
            Middleware(_Carrying, station=station, sessions=sessions, door=Door() if door is None else door),
            # findings of 100 kB go out as 10 kB; streams of events are left alone
            Middleware(GZipMiddleware, minimum_size=1000, compresslevel=5),
        ],
        exception_handlers=dict.fromkeys(foreseen, show_problem),
    )
    app.state.path_of = paths_by_name(routes)
    return app


def addresses() -> list[Address | Folder]:
    """Everything that the station answers, with who may use it.

    Raises
    ------
    TypeError: an address does not say who may use it.
    """
    record = (api, api_history, api_photographs, api_seals)
    yards = (api_yard, api_lists, api_verify)
    interface = (api_live, *yards, *record, api_ask, api_several, api_plan, api_learn, api_recordings)
    shown = (indicators, days, unsent, pads, plan, ask, learn, history, bench, compare, yard, access, shell)
    own: list[BaseRoute] = [item for part in (*interface, *shown) for item in part.routes]
    described = route("GET", f"{API}/openapi.json", get_description, may=May.LOOK, told=_DESCRIPTION)
    files = Folder("/static", _Files(directory=PAGES), may=May.ANYONE, plain=True)
    return declared([described, *own, files])


@cache
def description() -> dict[str, Any]:
    """The interface for programs (OpenAPI 3.1), as every address describes itself."""
    from steelyard.web.http.openapi import described

    return described(addresses())


async def get_description(request: Request) -> Response:
    """The interface, described for programs."""
    del request
    return JSONResponse(description())


_DESCRIPTION = Told(
    "describe", "This description.", {200: Given("OpenAPI 3.1.", Written("Description", lambda: {"type": "object"}))}
)


async def show_problem(request: Request, error: Exception) -> Response:
    """Any exception as an answer: data for programs, a page for people."""
    problem = problem_of(error)
    if request.url.path.startswith("/api/") or "text/html" not in request.headers.get("accept", ""):
        response: Response = problem.to_response()
    else:
        response = await frame.show_problem(request, problem)
    # what nobody foresaw is answered outside the guard, which would have added them
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    return response


def _in_words(error: Exception) -> dict[str, Any]:
    """An error as listeners hear of it."""
    return problem_of(error).to_data()


_BROTLI = re.compile(r"(?:^|,)\s*br\s*(?:,|$|;\s*q\s*=\s*(?:1|0\.0*[1-9]))")


class _Files(StaticFiles):
    """Files that a browser may keep for good when their address names a version, and asks for again when not.

    They lie beside their pages; a browser asks for them by name alone.
    """

    def lookup_path(self, path: str) -> tuple[str, os.stat_result | None]:
        """The file of a name, with what the disk says of it; None where no file has the name."""
        known = sent_files().get(path)
        if known is not None and known.suffix == ".js":
            packed(path)  # the first time takes a moment, which nobody else waits for here
        return ("", None) if known is None else (str(known), known.stat())

    def file_response(
        self, full_path: str | os.PathLike[str], stat_result: os.stat_result, scope: Scope, status_code: int = 200
    ) -> Response:
        """A file with what it says about being kept."""
        if os.fspath(full_path).endswith(".js"):
            response = self._script(Path(full_path).name, scope, status_code)
        else:
            response = super().file_response(full_path, stat_result, scope, status_code)
        versioned = b"v=" in scope.get("query_string", b"")
        response.headers["cache-control"] = "public, max-age=31536000, immutable" if versioned else "no-cache"
        return response

    def _script(self, name: str, scope: Scope, status_code: int) -> Response:
        """A script, packed for a browser that can unpack it; or that it is still the same."""
        told, text = Headers(scope=scope), script_as_sent(name)
        small = packed(name) if _BROTLI.search(told.get("accept-encoding", "")) else None
        mark = hashlib.sha256(text.encode()).hexdigest()[:32]
        headers = {"etag": f'"{mark}"'}
        if small is not None:
            headers = {"etag": f'"{mark}-br"', "vary": "Accept-Encoding", "content-encoding": "br"}
        response = Response(text if small is None else small, status_code, headers, "text/javascript")
        return NotModifiedResponse(response.headers) if self.is_not_modified(response.headers, told) else response


class _Carrying:
    """Puts on each request what its handler may use."""

    def __init__(self, app: ASGIApp, *, station: Station, sessions: Sessions, door: Door) -> None:
        self._app = app
        self._carried = {"station": station, "sessions": sessions, "door": door, "settings": station.settings}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Go on with the request, laden."""
        if scope["type"] == "http":
            scope.setdefault("state", {}).update(self._carried)
        await self._app(scope, receive, send)
