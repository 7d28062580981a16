"""A day at the pads."""

from __future__ import annotations

from dataclasses import replace

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.web.api.plan import kept_plan
from steelyard.web.http.routes import May, route
from steelyard.web.pages.pads.page import connected, pads_page
from steelyard.web.pages.shell.frame import may_weigh, render, station_of, to_of


async def pads(request: Request) -> Response:
    """A day at the pads."""
    day_id = request.path_params["day"]
    station = station_of(request)
    opened = await station.day(day_id)
    to = to_of(request)
    page = await station.run(pads_page, day_id, opened.day, to=to, seq=opened.seq, may_weigh=may_weigh(request))
    kept = await station.run(kept_plan, station.store, day_id)
    live, unplaced = connected(station.live, opened.day)
    page = replace(page, data={**page.data, "plan": kept, "live": live, "unplaced": unplaced})
    return render(request, "pads.html", page)


routes: list[BaseRoute] = [
    route("GET", "/days/{day}/pads", pads, may=May.LOOK),
]
