"""Learn the rig: logs of growing load recorded, sent, fitted and kept."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.dayfile import DayFileError
from steelyard.web.api.learn import a_log, answer_of, query_options
from steelyard.web.http.problem import Problem, problem_of
from steelyard.web.http.routes import May, route
from steelyard.web.pages.learn.page import learn_page, learned_result, taught_nothing
from steelyard.web.pages.shell.frame import fault_words, may_weigh, render, station_of, to_of
from steelyard.web.station.refused import RefusalError


async def learn(request: Request) -> Response:
    """Learn the rig: logs of growing load recorded, sent, fitted and kept."""
    station, day_id = station_of(request), request.path_params["day"]
    opened = await station.day(day_id)
    logs = await station.run(station.store.logs, opened.id)
    number = request.query_params.get("log", "")
    result = None
    if number.isascii() and number.isdecimal() and len(number) < 10:
        record = await a_log(station, opened.id, int(number))
        options = query_options(request)
        try:
            answer = await answer_of(station, opened, record, options)
        except (Problem, RefusalError, DayFileError) as error:
            said = problem_of(error)
            faults = "; ".join(fault_words(one.line, one.path, f"{one.value} {one.message}") for one in said.faults)
            result = taught_nothing(opened.day, record, faults or said.message, options)
        else:
            result = await station.run(learned_result, answer, record, options)
    rig = station.live.simulation
    simulated = rig if rig is not None and rig.day.title == opened.day.title else None
    page = await station.run(
        learn_page,
        opened.id,
        opened.day,
        logs,
        result,
        to=to_of(request),
        simulation=simulated,
        heard=station.live.channels,
        may_weigh=may_weigh(request),
    )
    return render(request, "learn.html", page)


routes: list[BaseRoute] = [
    route("GET", "/days/{day}/learn", learn, may=May.LOOK),
]
