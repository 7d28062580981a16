"""Days and things of the yard put away from their lists, and brought back. Nothing is deleted by it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.store import Listed
from steelyard.web.api.yard import NAMED, shelf_and_name
from steelyard.web.http import incoming
from steelyard.web.http.routes import May, route
from steelyard.web.http.told import Given, Told, answered
from steelyard.web.settings import API
from steelyard.web.station.station import Station


@dataclass(frozen=True, slots=True)
class AwayShape:
    """Whether a thing is away from its list."""

    put_away: bool
    changed: Annotated[bool, "Whether it was not so before."]


async def put_away_day(request: Request) -> Response:
    """Put a day away."""
    return await _put_away(request, Listed.DAY, incoming.day_id(request))


async def bring_back_day(request: Request) -> Response:
    """Bring a day back."""
    return await _bring_back(request, Listed.DAY, incoming.day_id(request))


async def put_away_thing(request: Request) -> Response:
    """Put a thing of the yard away."""
    shelf, name = shelf_and_name(request)
    return await _put_away(request, Listed(shelf), name)


async def bring_back_thing(request: Request) -> Response:
    """Bring a thing of the yard back."""
    shelf, name = shelf_and_name(request)
    return await _bring_back(request, Listed(shelf), name)


async def _put_away(request: Request, kind: Listed, name: str) -> Response:
    station: Station = request.state.station
    changed = await station.run(station.store.put_away, kind, name, device=request.state.viewer.device)
    return answered(AwayShape(put_away=True, changed=changed))


async def _bring_back(request: Request, kind: Listed, name: str) -> Response:
    station: Station = request.state.station
    changed = await station.run(station.store.bring_back, kind, name, device=request.state.viewer.device)
    return answered(AwayShape(put_away=False, changed=changed))


_MORE = "Its address stays, and nothing of it is deleted. Asked for again, it changes nothing."
_REFUSES = (404, 507)
_DAY, _THING = f"{API}/days/{{id}}", f"{API}/yard/{{shelf}}/{{name}}"


def _told(operation: str, summary: str, *, thing: bool = False) -> Told:
    given = {200: Given("It is so.", AwayShape)}
    return Told(operation, summary, given, more=_MORE, refuses=_REFUSES, parameters=NAMED if thing else ())


routes: list[BaseRoute] = [
    route(
        *("POST", f"{_DAY}/put-away", put_away_day),
        may=May.WEIGH,
        told=_told("putDayAway", "Put a day away: lists and searches leave it out until they are asked for it."),
    ),
    route(
        *("POST", f"{_DAY}/bring-back", bring_back_day),
        may=May.WEIGH,
        told=_told("bringDayBack", "Bring a day back to the list."),
    ),
    route(
        *("POST", f"{_THING}/put-away", put_away_thing),
        may=May.WEIGH,
        told=_told("putThingAway", "Put a vehicle or an instrument of the yard away from its list.", thing=True),
    ),
    route(
        *("POST", f"{_THING}/bring-back", bring_back_thing),
        may=May.WEIGH,
        told=_told("bringThingBack", "Bring a vehicle or an instrument back to the list of the yard.", thing=True),
    ),
]
