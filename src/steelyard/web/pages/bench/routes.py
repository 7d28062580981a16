"""A day at the bench, the ticket and the drawings."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import BaseRoute

from steelyard.dayfile import Part
from steelyard.store import StoredEntry
from steelyard.web.api.seals import seals_at
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.pages.bench.contracts import BenchPage
from steelyard.web.pages.bench.folder import folder_of
from steelyard.web.pages.bench.page import UNITS, bench_page
from steelyard.web.pages.bench.photos import ticket_displays, ticket_photos
from steelyard.web.pages.bench.seal import seal_part
from steelyard.web.pages.bench.sealed import sealed_file, sealed_ticket
from steelyard.web.pages.bench.states import routes as of_states
from steelyard.web.pages.bench.states import state_act, states_away
from steelyard.web.pages.bench.taken import Taken
from steelyard.web.pages.days.cards import count, title
from steelyard.web.pages.shell.contracts import PageLink, To
from steelyard.web.pages.shell.filename import disposition, file_name
from steelyard.web.pages.shell.frame import download, is_here, render, station_of, to_of
from steelyard.web.pages.shell.moment import moment
from steelyard.web.station.station import Station


async def bench(request: Request) -> Response:
    """A day at the bench."""
    day_id = request.path_params["day"]
    station = station_of(request)
    history = await station.history(day_id)
    came = await _taken(station, day_id, history)
    others = await _others(station, day_id, to_of(request))
    seals = await seals_at(station, day_id, history)
    seal = await station.run(lambda: seal_part(day_id, seals, station, to_of(request), here=is_here(request)))
    units = request.query_params.get("units")
    answer = await station.findings(day_id)
    asked = request.query_params.get("before", "")
    to = to_of(request)
    opened = await station.day(day_id)
    page: BenchPage = await station.run(
        bench_page,
        day_id,
        answer.findings,
        to=to,
        taken=came[Part.DRAFT],
        corrected=came[Part.CORRECTION],
        chose=came[Part.CHOICE],
        seal=seal,
        others=others,
        pictures=await station.run(station.store.pictures, day_id),
        units=units if units in UNITS else None,
        before=int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 7 else None,
        away=states_away(day_id, opened.day, to),
        done=state_act(day_id, opened.day, request.query_params, to),
    )
    return render(request, "bench.html", page)


async def _taken(station: Station, day_id: str, history: Iterable[StoredEntry]) -> dict[Part, dict[int, Taken]]:
    """How drafts, corrections and choices of rules came, by their numbers."""
    photos = await station.run(station.store.photo_keys, day_id)
    came: dict[Part, dict[int, Taken]] = {Part.DRAFT: {}, Part.CORRECTION: {}, Part.CHOICE: {}}
    for entry in history:
        if entry.kind in came:
            received = moment(entry.received)
            came[entry.kind][entry.number] = Taken(entry.key, entry.device, received, entry.key in photos)
    return came


async def _others(station: Station, day_id: str, to: To) -> list[PageLink]:
    """Other days that weigh a vehicle of the same name, each with the address that compares both."""
    opened = await station.day(day_id)
    links: dict[str, PageLink] = {}
    for name in opened.day.vehicles:
        for day in await station.run(station.store.days_with_vehicle, name, 12):
            if day.id != day_id:
                href = f"{to('comparison')}?{urlencode([('day', day_id), ('day', day.id)])}"
                hint = Markup("begun {}, {}").format(moment(day.created), count(day))
                links.setdefault(day.id, PageLink(href, title(day), hint))
    return list(links.values())[:12]


async def ticket(request: Request) -> Response:
    """The weigh ticket as PDF, with the photographs that were kept of its drafts; small ones of displays if asked.

    Raises
    ------
    Problem: nothing was weighed that a ticket could say.
    """
    from steelyard.report.print.thumbnails import NO_THUMBNAILS
    from steelyard.report.print.ticket import ticket_pdf

    station, day_id = station_of(request), request.path_params["day"]
    paper = "a4" if request.query_params.get("paper") == "a4" else "letter"
    if "seal" in request.query_params:
        number = incoming.number(request, "seal", default=0, least=1, most=10**6)
        return await sealed_ticket(station, day_id, number, paper=paper)
    answer = await station.findings(day_id)
    day = answer.findings.day
    photos, notes = await ticket_photos(station, day_id, day)
    asked = request.query_params.get("thumbnails") == "yes"
    small = await ticket_displays(station, day_id, day) if asked else NO_THUMBNAILS
    try:
        made = partial(ticket_pdf, answer.findings, paper=paper, photos=photos, small=small, notes=notes)
        pdf = await station.run(made)
    except ValueError as error:
        raise Problem(409, "no_ticket", str(error)) from error
    return download(pdf, "application/pdf", file_name(day, "pdf"))


async def folder(request: Request) -> Response:
    """The day with its photographs as one folder, packed."""
    station, day_id = station_of(request), request.path_params["day"]
    text = await station.text(day_id)
    day = (await station.day(day_id)).day
    pieces = folder_of(station.store, day_id, text, day)
    headers = {"content-disposition": disposition(file_name(day, "zip"))}
    return StreamingResponse(pieces, media_type="application/zip", headers=headers)


async def drawing(request: Request) -> Response:
    """A state from above, or of the change to it, as SVG; ``size``: the rig alone, for a ``narrow`` or ``wide`` screen.

    Raises
    ------
    Problem: there is no such state.
    """
    from steelyard.report.drawings.above.view import above_screen_svg, above_svg

    station, state = station_of(request), request.path_params["state"]
    answer = await station.findings(request.path_params["day"])
    against = request.query_params.get("against")
    asked = request.query_params.get("theme")
    theme = "dark" if asked == "dark" else "transparent" if asked == "transparent" else "light"
    size = request.query_params.get("size")

    def drawn() -> str:
        if size in ("narrow", "wide"):
            narrow = size == "narrow"
            return above_screen_svg(answer.findings, state, against=against, theme=theme, narrow=narrow)
        return above_svg(answer.findings, state, against=against, theme=theme)

    try:
        svg = await station.run(drawn)
    except (KeyError, ValueError) as error:
        raise Problem(404, "no_drawing", "there is no such state to draw") from error
    name = file_name(answer.findings.day, "svg", what=f"{against}-to-{state}" if against else state)
    return Response(svg, media_type="image/svg+xml", headers={"content-disposition": disposition(name, shown=True)})


routes: list[BaseRoute] = [
    route("GET", "/days/{day}/ticket.pdf", ticket, may=May.LOOK),
    route("GET", "/days/{day}/folder.zip", folder, may=May.LOOK),
    route("GET", "/days/{day}/sealed/{number}.toml", sealed_file, may=May.LOOK),
    route("GET", "/days/{day}/drawings/{state}.svg", drawing, may=May.LOOK),
    *of_states,
    route("GET", "/days/{day}", bench, may=May.LOOK),
]
