"""The yard: vehicles and instruments kept between days."""

from __future__ import annotations

import datetime
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.store import Kept, Shelf
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.pages.days.cards import cards
from steelyard.web.pages.days.routes import A_PAGE
from steelyard.web.pages.shell.frame import render, station_of, to_of
from steelyard.web.pages.yard import taking_in
from steelyard.web.pages.yard.contracts import YardPage
from steelyard.web.pages.yard.page import yard_page
from steelyard.web.station.station import Station
from steelyard.web.station.yard import new_day


async def yard(request: Request) -> Response:
    """Vehicles and instruments kept between days."""
    return render(request, "yard.html", await _yard_page(station_of(request)), here="yard")


async def _yard_page(station: Station) -> YardPage:
    vehicles = await station.run(station.store.shelf, Shelf.VEHICLE)
    instruments = await station.run(station.store.shelf, Shelf.INSTRUMENT)
    days = tuple(cards(await station.days(A_PAGE)))
    return await station.run(yard_page, vehicles, instruments, days)


async def take_in(request: Request) -> Response:
    """Take the vehicles and instruments of a day into the yard; asks where that has something else of that name."""
    station, form = station_of(request), await request.form()
    said = {name: value for name, value in form.items() if isinstance(value, str)}
    opened = await station.day(said.get("day", ""))
    shelves = (Shelf.VEHICLE, Shelf.INSTRUMENT)
    known = {shelf: {kept.name: kept for kept in await station.run(station.store.shelf, shelf)} for shelf in shelves}
    taken = await station.run(taking_in.take_in, opened.day, known, said)
    if taken.twins:
        page = replace(await _yard_page(station), taking=opened.id, twins=taken.twins)
        return render(request, "yard.html", page, here="yard", status=409)
    for shelf, name, text in taken.keep:
        await station.run(station.store.save, shelf, name, text, device=request.state.viewer.device)
    return RedirectResponse(to_of(request)("yard"), 303)


async def put_out(request: Request) -> Response:
    """Start a day with what the yard has.

    Raises
    ------
    Problem: no vehicle was chosen.
    """
    station, form = station_of(request), await request.form()
    chosen: dict[Shelf, list[Kept]] = {Shelf.VEHICLE: [], Shelf.INSTRUMENT: []}
    for shelf, kept in chosen.items():
        names = {str(name) for name in form.getlist(str(shelf))}
        kept += [item for item in await station.run(station.store.shelf, shelf) if item.name in names]
    if not chosen[Shelf.VEHICLE]:
        raise Problem(422, "no_vehicle", "choose at least one vehicle")
    text = new_day(chosen[Shelf.VEHICLE], chosen[Shelf.INSTRUMENT], datetime.datetime.now(datetime.UTC).date())
    day_id = await station.import_text(text)
    return RedirectResponse(to_of(request)("pads", day=day_id), 303)


routes: list[BaseRoute] = [
    route("GET", "/yard", yard, may=May.LOOK),
    route("POST", "/yard", take_in, may=May.WEIGH),
    route("POST", "/yard/day", put_out, may=May.WEIGH),
]
