"""A day that is asked: what if, how much more where, how much trailer, what to change."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.questions import QUESTIONS
from steelyard.web.api.ask import asked
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.pages.ask.page import ask_page, first_state
from steelyard.web.pages.shell.frame import may_weigh, render, station_of, to_of

if TYPE_CHECKING:
    from steelyard.findings import Weighed


async def ask(request: Request) -> Response:
    """A day that is asked: what if, how much more where, how much trailer, what to change.

    Raises
    ------
    Problem: nothing of it was weighed yet, or there is no such state.
    """
    station, day_id = station_of(request), request.path_params["day"]
    opened = await station.day(day_id)
    state = request.query_params.get("state", first_state(opened.day))
    if state is None:
        raise Problem(409, "nothing_weighed", "nothing of this day was weighed yet; take a draft at the pads first")
    if state not in opened.day.states:
        raise Problem(404, "no_such_state", "there is no such state in this day")
    file, entry = f"{day_id}.toml", await station.run(QUESTIONS["influence"].load)
    influence = await asked(station, opened, lambda weighed: entry.asked(weighed, {"from": state}, file=file))
    to = to_of(request)
    page = await station.run(ask_page, day_id, opened.day, state, influence, to=to, may_weigh=may_weigh(request))
    return render(request, "ask.html", page)


async def trailer_drawing(request: Request) -> Response:
    """How much trailer, as SVG."""
    from steelyard.report.drawings.trailer import trailer_svg

    station, day_id = station_of(request), request.path_params["day"]
    wanted = {key: request.query_params[key] for key in ("from", "at") if key in request.query_params}
    theme = "dark" if request.query_params.get("theme") == "dark" else "light"
    opened = await station.day(day_id)

    def drawn(weighed: Weighed) -> str:
        from steelyard.questions.trailer import TRAILER

        question = TRAILER.read(weighed.adjustment.rig.day, wanted, "question", {})
        return trailer_svg(TRAILER.answer(weighed, question), theme=theme)

    return Response(await asked(station, opened, drawn), media_type="image/svg+xml")


routes: list[BaseRoute] = [
    route("GET", "/days/{day}/ask", ask, may=May.LOOK),
    route("GET", "/days/{day}/ask/trailer.svg", trailer_drawing, may=May.LOOK),
]
