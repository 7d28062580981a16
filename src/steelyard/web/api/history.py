"""The interface for programs, where the record of a day is asked for: all that was kept, with its digests."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.questions.history import History, history_of_store, history_shape, line_of_entry
from steelyard.store import DayId
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.http.told import TEXT, Given, Parameter, Reply, Told, answered
from steelyard.web.settings import API
from steelyard.web.station.station import Station

_MOST = 10**9 - 1
_DIGEST = re.compile("[0-9a-f]{64}")


async def get_history(request: Request) -> Response:
    """The history of a day, or what was added to it since."""
    station: Station = request.state.station
    day_id = incoming.day_id(request)
    noted = _noted(request)
    if "after" in request.query_params:
        found = await _since(station, day_id, incoming.number(request, "after", default=0, least=0, most=_MOST))
    else:
        found = history_of_store(await station.run(station.store.history, day_id), noted)
    return answered(history_shape(found, f"{day_id}.toml"))


async def _since(station: Station, day_id: DayId, after: int) -> History:
    """The additions after one of them, held against nothing: what a page asks for every few seconds."""
    entries = await station.history(day_id, after)
    day = await station.run(station.store.day, day_id)
    head = await station.run(station.store.head, day_id)
    return History(day_id, day.title, tuple(map(line_of_entry, entries)), head.digest, head.link, None)


def _noted(request: Request) -> str | None:
    """The digest to look for.

    Raises
    ------
    Problem: it is none.
    """
    text = request.query_params.get("head")
    if text is not None and _DIGEST.fullmatch(text) is None:
        raise Problem(422, "bad_parameter", f"head: {text[:80]}: is not a digest, which has 64 digits 0-9 and a-f")
    return text


_TOLD = Told(
    "getHistory",
    "All that was kept of the day in order, with its digests, and whether it is as it was kept.",
    {200: Given("The history.", Reply("history"))},
    more="As `steelyard history --json` prints it. With `after` only additions, held against nothing, which is quick.",
    refuses=(404, 422),
    parameters=(
        Parameter(
            "after", "Only additions after this one.", {"type": "integer", "minimum": 0, "maximum": _MOST, "default": 0}
        ),
        Parameter("head", "A digest that the day had once, to be looked for.", {**TEXT, "pattern": "^[0-9a-f]{64}$"}),
    ),
)

routes: list[BaseRoute] = [
    route("GET", f"{API}/days/{{id}}/history", get_history, may=May.LOOK, told=_TOLD),
]
