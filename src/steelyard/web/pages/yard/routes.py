"""The yard: vehicles and instruments kept between days."""

from __future__ import annotations

import datetime
from dataclasses import replace
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.store import Away, Kept, Listed, Shelf
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.pages.days.cards import cards
from steelyard.web.pages.days.contracts import AwayLine, DoneAct
from steelyard.web.pages.days.lists import put_away_act, said, short
from steelyard.web.pages.days.routes import A_PAGE
from steelyard.web.pages.shell.frame import render, station_of, to_of
from steelyard.web.pages.yard import taking_in, verifications
from steelyard.web.pages.yard.contracts import YardPage
from steelyard.web.pages.yard.page import title_of, yard_page
from steelyard.web.pages.yard.thing import FROM_DAY, thing_page, without_origin
from steelyard.web.station.renaming import renamed_vehicle
from steelyard.web.station.yard import listed, new_day


async def yard(request: Request) -> Response:
    """Vehicles and instruments kept between days."""
    page = replace(await _yard_page(request), done=await _act(request))
    return render(request, "yard.html", page, here="yard")


async def _yard_page(request: Request) -> YardPage:
    station = station_of(request)
    vehicles = await station.run(listed, station.store, Shelf.VEHICLE)
    instruments = await station.run(listed, station.store, Shelf.INSTRUMENT)
    days = tuple(cards(await station.days(A_PAGE)))
    page = await station.run(yard_page, vehicles, instruments, days)
    away = [await _away(request, shelf) for shelf in (Shelf.VEHICLE, Shelf.INSTRUMENT)]
    return replace(page, vehicles_away=away[0], instruments_away=away[1])


async def _away(request: Request, shelf: Shelf) -> tuple[AwayLine, ...]:
    """The things that were put away from a list of the yard, the last one first."""
    station, to = station_of(request), to_of(request)
    kept = {one.name: one for one in await station.run(listed, station.store, shelf, Away.ONLY)}
    found = await station.run(station.store.away, Listed(shelf))
    return tuple(
        AwayLine(title_of(kept[one.name]), said(one), to("bring_thing_back", shelf=f"{shelf}s", name=one.name))
        for one in found
        if one.name in kept
    )


async def _act(request: Request) -> DoneAct | None:
    """The act of a moment ago on a thing of the yard, as the address of the page names it."""
    station, to, asked = station_of(request), to_of(request), request.query_params
    shelf, name, act = _SHELVES.get(asked.get("of", "")), asked.get("to", ""), asked.get("did", "")
    versions = () if shelf is None else await station.run(station.store.versions, shelf, name)
    if shelf is None or not versions:
        return None
    title = short(title_of(versions[-1]))
    if act == "renamed" and len(versions) > 1:
        before = title_of(versions[-2])
        words = f"“{short(before)}” is called “{title}” now, in a new version."
        return DoneAct(words, to("rename_thing", shelf=f"{shelf}s", name=name), before)
    gone = name in {one.name for one in await station.run(station.store.away, Listed(shelf))}
    back, away = (
        to("bring_thing_back", shelf=f"{shelf}s", name=name),
        to("put_thing_away", shelf=f"{shelf}s", name=name),
    )
    return put_away_act(title, act, back if gone else away, gone=gone)


async def rename_thing(request: Request) -> Response:
    """Give a vehicle of the yard another name for people, as a new version; the same one again adds nothing.

    Raises
    ------
    Problem: there is no such vehicle. DayFileError: the name says nothing, is too long, or is not one line.
    """
    station, (shelf, name), form = station_of(request), _thing(request), await request.form()
    kept = await station.run(station.store.kept, shelf, name)
    if kept is None or shelf is not Shelf.VEHICLE:
        raise Problem(404, "not_in_the_yard", f"the yard has no vehicle {name[:40]!r}")
    text = await station.run(renamed_vehicle, kept, str(form.get("title", "")))
    learned = without_origin(kept.learned)
    version = await station.shelve(shelf, name, text, learned, request.state.viewer.device)
    return _back_to_yard(request, "renamed" if version > kept.version else "")


async def thing(request: Request) -> Response:
    """One thing of the yard with all its versions.

    Raises
    ------
    Problem: there is none of that name.
    """
    station, (shelf, name) = station_of(request), _thing(request)
    versions = await station.run(station.store.versions, shelf, name)
    if not versions:
        raise Problem(404, "not_in_the_yard", f"the yard has no {shelf} {name[:40]!r}")
    page = await station.run(thing_page, versions, request.query_params, to_of(request))
    return render(request, "thing.html", page, here="yard")


async def bring_version_back(request: Request) -> Response:
    """Keep an older version once more, as the newest one; those between stay.

    Raises
    ------
    Problem: there is no such version.
    """
    station, (shelf, name), form = station_of(request), _thing(request), await request.form()
    said = str(form.get("version", ""))
    number = int(said) if said.isascii() and said.isdecimal() and len(said) < 10 else 0
    old = await station.run(station.store.kept, shelf, name, number or None)
    if old is None or not number:
        raise Problem(404, "not_in_the_yard", f"the yard has no {shelf} {name[:40]!r} of that version")
    await station.shelve(shelf, name, old.text, old.learned, request.state.viewer.device)
    where = to_of(request)("thing", shelf=f"{shelf}s", name=name)
    return RedirectResponse(f"{where}?did=version", 303)


async def put_thing_away(request: Request) -> Response:
    """Put a thing of the yard away from its list."""
    station, (shelf, name) = station_of(request), _thing(request)
    await station.run(station.store.put_away, Listed(shelf), name, device=request.state.viewer.device)
    return _back_to_yard(request, "away")


async def bring_thing_back(request: Request) -> Response:
    """Bring a thing of the yard back to its list."""
    station, (shelf, name) = station_of(request), _thing(request)
    await station.run(station.store.bring_back, Listed(shelf), name, device=request.state.viewer.device)
    return _back_to_yard(request, "back")


_SHELVES = {"vehicles": Shelf.VEHICLE, "instruments": Shelf.INSTRUMENT}


def _thing(request: Request) -> tuple[Shelf, str]:
    """The shelf and the name that the address gives.

    Raises
    ------
    Problem: there is no such shelf.
    """
    shelf, name = _SHELVES.get(request.path_params["shelf"]), request.path_params["name"]
    if shelf is None:
        raise Problem(404, "not_in_the_yard", "the yard has vehicles and instruments")
    return shelf, name


def _back_to_yard(request: Request, did: str) -> Response:
    """The yard; it says what was done and offers to undo it, where ``did`` names it."""
    parts = request.path_params
    asked = f"?{urlencode({'did': did, 'of': parts['shelf'], 'to': parts['name']})}" if did else ""
    return RedirectResponse(f"{to_of(request)('yard')}{asked}", 303)


async def take_in(request: Request) -> Response:
    """Take the vehicles and instruments of a day into the yard; asks where that has something else of that name."""
    station, form = station_of(request), await request.form()
    said = {name: value for name, value in form.items() if isinstance(value, str)}
    opened = await station.day(said.get("day", ""))
    shelves = (Shelf.VEHICLE, Shelf.INSTRUMENT)
    known = {shelf: {kept.name: kept for kept in await station.run(station.store.shelf, shelf)} for shelf in shelves}
    taken = await station.run(taking_in.take_in, opened.day, known, said)
    if taken.twins:
        page = replace(await _yard_page(request), taking=opened.id, twins=taken.twins)
        return render(request, "yard.html", page, here="yard", status=409)
    for shelf, name, text in taken.keep:
        before = known[shelf].get(name)
        learned = {} if before is None else without_origin(before.learned)
        learned |= {FROM_DAY: {"id": opened.id, "title": opened.day.title or "Weigh day"}}
        await station.shelve(shelf, name, text, learned, request.state.viewer.device)
        await station.run(station.store.bring_back, Listed(shelf), name, device=request.state.viewer.device)
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
    *verifications.routes,  # before those of a thing, whose paths they share
    route("GET", "/yard", yard, may=May.LOOK),
    route("POST", "/yard", take_in, may=May.WEIGH),
    route("POST", "/yard/day", put_out, may=May.WEIGH),
    route("GET", "/yard/{shelf}/{name}", thing, may=May.LOOK),
    route("POST", "/yard/{shelf}/{name}/version", bring_version_back, may=May.WEIGH),
    route("POST", "/yard/{shelf}/{name}/title", rename_thing, may=May.WEIGH),
    route("POST", "/yard/{shelf}/{name}/put-away", put_thing_away, may=May.WEIGH),
    route("POST", "/yard/{shelf}/{name}/bring-back", bring_thing_back, may=May.WEIGH),
]
