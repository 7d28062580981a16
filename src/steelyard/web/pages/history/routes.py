"""The record of a day, with its digests."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.questions.history import history_of_store
from steelyard.web.api.seals import seals_at
from steelyard.web.http.routes import May, route
from steelyard.web.pages.history.page import record_page
from steelyard.web.pages.shell.frame import render, station_of, to_of


async def record(request: Request) -> Response:
    """The record of a day, held against its digests."""
    station = station_of(request)
    found = await station.run(station.store.history, request.path_params["day"])
    asked = request.query_params.get("before", "")
    before = int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 10 else None
    seals = await seals_at(station, request.path_params["day"])
    page = record_page(history_of_store(found), seals, to=to_of(request), before=before)
    return render(request, "history.html", page)


routes: list[BaseRoute] = [
    route("GET", "/days/{day}/history", record, may=May.LOOK),
]
