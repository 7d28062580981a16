"""The rest of a day, planned."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.web.api.plan import kept_plan
from steelyard.web.http.routes import May, route
from steelyard.web.pages.plan.page import plan_page
from steelyard.web.pages.shell.frame import may_weigh, render, station_of, to_of


async def plan(request: Request) -> Response:
    """The rest of a day, planned."""
    day_id = request.path_params["day"]
    station = station_of(request)
    opened = await station.day(day_id)
    kept = await station.run(kept_plan, station.store, day_id)
    to = to_of(request)
    page = await station.run(plan_page, day_id, opened.day, kept, to=to, seq=opened.seq, may_weigh=may_weigh(request))
    return render(request, "plan.html", page)


routes: list[BaseRoute] = [
    route("GET", "/days/{day}/plan", plan, may=May.LOOK),
]
