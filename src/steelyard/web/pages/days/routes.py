"""The days, newest first, and a new rig."""

from __future__ import annotations

import datetime
import secrets
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.dayfile import DayFileError
from steelyard.store import Away, DayId, FoundDays, Kept, Listed, Shelf
from steelyard.web.http import incoming
from steelyard.web.http.routes import May, route
from steelyard.web.pages.days.cards import cards
from steelyard.web.pages.days.contracts import HomePage, NewPage
from steelyard.web.pages.days.lists import day_act, days_away
from steelyard.web.pages.days.new import SURFACES, AnswersError, day_text
from steelyard.web.pages.days.new_page import new_page
from steelyard.web.pages.shell.filename import file_name
from steelyard.web.pages.shell.frame import download, render, station_of, to_of
from steelyard.web.pages.unsent.yard import yard_for_plan
from steelyard.web.station.station import Station
from steelyard.web.station.yard import listed, new_day

A_PAGE = 30
"""Days in one list."""

_SEARCHED = 6  # days from which on a list is worth searching


async def home(request: Request) -> Response:
    """The days, newest first, or those that are looked for; on top the one to try, or whose rig is simulated."""
    station, to = station_of(request), to_of(request)
    before, typed = request.query_params.get("before"), incoming.one_line(request, "search")
    away = Away.WITH if typed and incoming.away(request) is Away.WITH else Away.WITHOUT
    found = await _found(station, typed, before, away)
    rig = station.live.simulation
    shown = found.days
    # copies have its title too; the one that came with the program is the oldest of them
    to_try = next((day.id for day in reversed(shown) if day.title == _bundled_title()), None)
    hints = {day.id: "simulated" for day in shown if rig is not None and day.title == rig.day.title}
    if to_try is not None:
        hints.setdefault(to_try, "to try")
    gone = {one.name for one in await station.run(station.store.away, Listed.DAY)}
    hints |= dict.fromkeys(gone, "put away")
    listed = [
        replace(card, hint=hints.get(card.id, ""), first=card.id in hints and card.id not in gone, away=card.id in gone)
        for card in cards(shown)
    ]
    given = {"search": typed} if typed else {}
    given |= {"put_away": "with"} if away is Away.WITH else {}
    older = None if found.more is None else f"{to('home')}?{urlencode(given | {'before': found.more})}"
    lines, more_away = await days_away(station, to)
    listed.sort(key=lambda card: not card.first)
    page = HomePage(
        tuple(listed),
        older,
        typed,
        searchable=bool(typed or before) or len(shown) >= _SEARCHED,
        back_to=f"{found.back_to:%Y-%m-%d}" if found.back_to is not None else "",
        away=lines,
        more_away=more_away,
        with_away=away is Away.WITH,
        done=await day_act(station, request.query_params, to),
    )
    return render(request, "home.html", page)


async def _found(station: Station, typed: str, before: str | None, away: Away) -> FoundDays:
    if typed:
        return await station.search(typed, A_PAGE, before, away)
    days = await station.days(A_PAGE + 1, before)
    return FoundDays(days[:A_PAGE], days[A_PAGE - 1].id if len(days) > A_PAGE else None)


async def rename_day(request: Request) -> Response:
    """Give a day another title; the same one again adds nothing.

    Raises
    ------
    DayFileError: the title says nothing, is too long, or is not one line.
    """
    station, day_id, form = station_of(request), request.path_params["day"], await request.form()
    title = str(form.get("title", "")).strip()
    if title == (await station.day(day_id)).day.title:
        return _back_home(request)
    said = {"key": f"renamed-{secrets.token_hex(8)}", "title": title}
    await station.rename(day_id, said, request.state.viewer.device)
    return _back_home(request, "renamed")


async def put_day_away(request: Request) -> Response:
    """Put a day away from the list."""
    store = station_of(request).store
    day_id, device = request.path_params["day"], request.state.viewer.device
    await station_of(request).run(store.put_away, Listed.DAY, day_id, device=device)
    return _back_home(request, "away")


async def bring_day_back(request: Request) -> Response:
    """Bring a day back to the list."""
    store = station_of(request).store
    day_id, device = request.path_params["day"], request.state.viewer.device
    await station_of(request).run(store.bring_back, Listed.DAY, day_id, device=device)
    return _back_home(request, "back")


def _back_home(request: Request, did: str = "") -> Response:
    """The list of days; it says what was done and offers to undo it, where ``did`` names it."""
    said = f"?{urlencode({'did': did, 'to': request.path_params['day']})}" if did else ""
    return RedirectResponse(f"{to_of(request)('home')}{said}", 303)


@cache
def _bundled_title() -> str:
    """The title of the day that every new store begins with."""
    for path in sorted((Path(__file__).parents[2] / "bundled").glob("*.toml")):
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("title"):
                return line.partition("=")[2].strip().strip('"')
    return ""


async def new(request: Request) -> Response:
    """Ask for a new rig, from the yard or from its distances and labels."""
    return render(request, "new.html", await _new_page(request, {"units": _units_of_reader(request)}, {}))


async def _new_page(request: Request, values: Mapping[str, str], faults: Mapping[str, str]) -> NewPage:
    station = station_of(request)
    vehicles = await station.run(listed, station.store, Shelf.VEHICLE)
    instruments = await station.run(listed, station.store, Shelf.INSTRUMENT)
    page = await station.run(new_page, values, faults, vehicles, instruments, station.store)
    return replace(page, yard=await station.run(yard_for_plan, vehicles, instruments))


def _units_of_reader(request: Request) -> str:
    """Pounds and inches where the browser speaks as the United States, Liberia and Burma do, or does not say where."""
    first = request.headers.get("accept-language", "").partition(",")[0].partition(";")[0].strip().lower()
    language, _, region = first.replace("_", "-").partition("-")
    us = region.rpartition("-")[2] in ("us", "lr", "mm") or (language in ("", "*", "en") and not region)
    return "lb in" if us else "kg mm"


async def make_new(request: Request) -> Response:
    """Make a day of the answers, or of a rig of the yard, and go to the pads. The same ``key`` makes it once."""
    form = await request.form()
    values = {name: value for name, value in form.items() if isinstance(value, str)}
    try:
        day_id = await keep_answers(request, values, datetime.datetime.now(datetime.UTC).date())
    except AnswersError as error:
        return render(request, "new.html", await _new_page(request, values, error.faults), status=422)
    except DayFileError as error:
        said = "; ".join(f"{fault.path} {fault.message}" for fault in error.faults[:3])
        page = await _new_page(request, values, {"": f"The rig cannot be: {said}."})
        return render(request, "new.html", page, status=422)
    return RedirectResponse(f"{to_of(request)('pads', day=day_id)}#first", 303)


async def keep_answers(request: Request, values: Mapping[str, str], today: datetime.date) -> DayId:
    """Make a day of the answers; its id. The same ``key`` makes it once.

    Raises
    ------
    AnswersError: they make no rig. DayFileError: the rig cannot be.
    """
    station = station_of(request)
    instruments = {kept.name: kept for kept in await station.run(listed, station.store, Shelf.INSTRUMENT)}
    if values.get("from_yard"):
        text = await _of_yard(station, values, tuple(instruments.values()), today)
    else:
        text = day_text(values, today, {name: kept.text for name, kept in instruments.items()})
    return await station.import_text(text, key=values.get("key") or None)


async def _of_yard(
    station: Station, values: Mapping[str, str], instruments: tuple[Kept, ...], today: datetime.date
) -> str:
    """A day of a vehicle of the yard, the trailers that go with it and every pad that is there.

    Raises
    ------
    AnswersError: the yard has no such vehicle any more.
    """
    vehicles = await station.run(listed, station.store, Shelf.VEHICLE)
    name = values["from_yard"]
    chosen = [kept for kept in vehicles if kept.name == name]
    chosen += [kept for kept in vehicles if values.get(f"with.{kept.name}") and kept.name != name]
    if not chosen or chosen[0].name != name:
        raise AnswersError({"": "The yard does not have that vehicle any more. Choose another, or describe it."})
    text = await station.run(new_day, chosen, list(instruments), today)
    surface = values.get("surface", "")
    return f'{text}\n[site]\nsurface = "{surface}"\n' if surface in SURFACES else text


async def file(request: Request) -> Response:
    """The day as a weigh-day file."""
    day_id = request.path_params["day"]
    station = station_of(request)
    text = await station.text(day_id)
    return download(text.encode(), "application/toml", file_name((await station.day(day_id)).day, "toml"))


routes: list[BaseRoute] = [
    route("GET", "/", home, may=May.LOOK),
    route("GET", "/days/new", new, may=May.LOOK),
    route("POST", "/days/new", make_new, may=May.WEIGH),
    route("GET", "/days/{day}/day.toml", file, may=May.LOOK),
    route("POST", "/days/{day}/title", rename_day, may=May.WEIGH),
    route("POST", "/days/{day}/put-away", put_day_away, may=May.WEIGH),
    route("POST", "/days/{day}/bring-back", bring_day_back, may=May.WEIGH),
]
