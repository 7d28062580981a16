"""The days, newest first, and a new rig."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache
from pathlib import Path
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.dayfile import DayFileError
from steelyard.store import FoundDays
from steelyard.web.http import incoming
from steelyard.web.http.routes import May, route
from steelyard.web.pages.days.cards import cards
from steelyard.web.pages.days.contracts import HomePage, NewPage
from steelyard.web.pages.days.new import AnswersError, day_text
from steelyard.web.pages.shell.frame import download, render, station_of, to_of
from steelyard.web.station.station import Station

A_PAGE = 30
"""Days in one list."""

_SEARCHED = 6  # days from which on a list is worth searching


async def home(request: Request) -> Response:
    """The days, newest first, or those that are looked for; on top the one to try, or whose rig is simulated."""
    before, typed = request.query_params.get("before"), incoming.one_line(request, "search")
    found = await _found(station_of(request), typed, before)
    rig = station_of(request).live.simulation
    shown = found.days
    # copies have its title too; the one that came with the program is the oldest of them
    to_try = next((day.id for day in reversed(shown) if day.title == _bundled_title()), None)
    hints = {day.id: "simulated" for day in shown if rig is not None and day.title == rig.day.title}
    if to_try is not None:
        hints.setdefault(to_try, "to try")
    listed = [replace(card, hint=hints.get(card.id, ""), first=card.id in hints) for card in cards(shown)]
    given = {"search": typed} if typed else {}
    older = None if found.more is None else f"{to_of(request)('home')}?{urlencode(given | {'before': found.more})}"
    listed.sort(key=lambda card: not card.first)
    page = HomePage(
        tuple(listed),
        older,
        typed,
        searchable=bool(typed or before) or len(shown) >= _SEARCHED,
        back_to=f"{found.back_to:%Y-%m-%d}" if found.back_to is not None else "",
    )
    return render(request, "home.html", page)


async def _found(station: Station, typed: str, before: str | None) -> FoundDays:
    if typed:
        return await station.search(typed, A_PAGE, before)
    days = await station.days(A_PAGE + 1, before)
    return FoundDays(days[:A_PAGE], days[A_PAGE - 1].id if len(days) > A_PAGE else None)


@cache
def _bundled_title() -> str:
    """The title of the day that every new store begins with."""
    for path in sorted((Path(__file__).parents[2] / "bundled").glob("*.toml")):
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("title"):
                return line.partition("=")[2].strip().strip('"')
    return ""


async def new(request: Request) -> Response:
    """Ask for a new rig."""
    return render(request, "new.html", NewPage())


async def make_new(request: Request) -> Response:
    """Make a day of the answers and go to the pads."""
    form = await request.form()
    values = {name: value for name, value in form.items() if isinstance(value, str)}
    try:
        text = day_text(values, datetime.datetime.now(datetime.UTC).date())
        day_id = await station_of(request).import_text(text)
    except AnswersError as error:
        return render(request, "new.html", NewPage(values, error.faults), status=422)
    except DayFileError as error:
        said = "; ".join(f"{fault.path} {fault.message}" for fault in error.faults[:3])
        return render(request, "new.html", NewPage(values, {"": f"The rig cannot be: {said}."}), status=422)
    return RedirectResponse(f"{to_of(request)('pads', day=day_id)}#first", 303)


async def file(request: Request) -> Response:
    """The day as a weigh-day file."""
    day_id = request.path_params["day"]
    text = await station_of(request).text(day_id)
    return download(text.encode(), "application/toml", f"{day_id}.toml")


routes: list[BaseRoute] = [
    route("GET", "/", home, may=May.LOOK),
    route("GET", "/days/new", new, may=May.LOOK),
    route("POST", "/days/new", make_new, may=May.WEIGH),
    route("GET", "/days/{day}/day.toml", file, may=May.LOOK),
]
