"""The pages: what a browser asks for, and what it is shown. Each is one handler, one contract and one template."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.dayfile import DayFileError, Part
from steelyard.store import DaySummary, Kept, Shelf
from steelyard.web.api.ask import asked, influence_data, trailer_answer
from steelyard.web.api.learn import a_log, answer_of, query_options
from steelyard.web.api.plan import kept_plan
from steelyard.web.http.problem import Problem, problem_of
from steelyard.web.http.routes import May, route
from steelyard.web.pages.access.page import pair_page, trust_page
from steelyard.web.pages.ask.page import ask_page, first_state
from steelyard.web.pages.bench.page import UNITS, Taken, bench_page, compare_page
from steelyard.web.pages.days.new import AnswersError, day_text
from steelyard.web.pages.learn.page import learn_page, learned_result, taught_nothing
from steelyard.web.pages.pads.page import pads_page
from steelyard.web.pages.plan.page import plan_page
from steelyard.web.pages.shell.contracts import (
    BenchPage,
    DayCard,
    Frame,
    HomePage,
    MessagePage,
    NewPage,
    PageLink,
    YardPage,
)
from steelyard.web.pages.shell.files import addresses_asked_for, sent_files, template_folders, version
from steelyard.web.pages.yard.page import new_day, yard_page
from steelyard.web.station import taking_in
from steelyard.web.station.station import Station

_A_PAGE = 30  # days in one list


@cache
def _templates() -> Environment:
    loader = FileSystemLoader(template_folders())
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)


def render(request: Request, template: str, page: Any, *, here: str = "days", status: int = 200) -> HTMLResponse:
    """One page from its contract."""
    viewer = getattr(request.state, "viewer", None)
    frame = Frame(here, _may_weigh(request), version(), stranger=viewer is None and template != "offline.html")
    text = _templates().get_template(template).render(page=page, frame=frame)
    return HTMLResponse(text, status)


def station_of(request: Request) -> Station:
    """What the handlers work with."""
    return request.state.station


def _may_weigh(request: Request) -> bool:
    """Whether the page may offer to keep something: a browser on this machine gets its session with this very page."""
    viewer = getattr(request.state, "viewer", None)
    return viewer is not None and (viewer.may_weigh or viewer.here)


async def show_problem(request: Request, problem: Problem) -> Response:
    """What went wrong, for a person."""
    titles = {
        404: "Nothing here",
        401: "Not paired",
        403: "Not allowed",
        421: "Another name",
        503: "The station cannot do that now",
        504: "Still being worked out",
        507: "The disk of the station is full",
    }
    title = titles.get(problem.status, "That did not work")
    faults = tuple(_fault(fault.line, fault.path, fault.message) for fault in problem.faults)
    said = problem.message[:1].upper() + problem.message[1:]
    again = request.url.path if request.method == "GET" and problem.status in (503, 504, 507) else ""
    page = MessagePage(title, said if said.endswith(".") else f"{said}.", faults, again)
    return render(request, "message.html", page, status=problem.status)


def _fault(line: int | None, path: str, message: str) -> str:
    where = "" if line is None else f"Line {line}: "
    return f"{where}{path}{' ' if path else ''}{message}"


# ---- days ----


async def home(request: Request) -> Response:
    """The days, newest first; on top the one to try, or the one whose rig is simulated."""
    before = request.query_params.get("before")
    days = await station_of(request).days(_A_PAGE + 1, before)
    rig = station_of(request).live.simulation
    shown = days[:_A_PAGE]
    # copies have its title too; the one that came with the program is the oldest of them
    to_try = next((day.id for day in reversed(shown) if day.title == _bundled_title()), None)
    hints = {day.id: "simulated" for day in shown if rig is not None and day.title == rig.day.title}
    if to_try is not None:
        hints.setdefault(to_try, "to try")
    cards = [replace(card, hint=hints.get(card.id, ""), first=card.id in hints) for card in _cards(shown)]
    older = f"/?before={quote(days[_A_PAGE - 1].id)}" if len(days) > _A_PAGE else None
    cards.sort(key=lambda card: not card.first)
    return render(request, "home.html", HomePage(tuple(cards), older))


def _cards(days: Sequence[DaySummary]) -> list[DayCard]:
    """The days as cards; those of one title are told apart by when they were begun, to the second where it must be."""
    titles = Counter(_title(day) for day in days)
    return [_card(day, twin=titles[_title(day)] > 1) for day in days]


def _card(day: DaySummary, *, twin: bool = False) -> DayCard:
    begun = f"begun {_when(day.created, twin=twin)}"
    changed = f", last change {_when(day.changed)}" if day.seq else ""
    return DayCard(day.id, _title(day), f"{_count(day)}, {begun}{changed} UTC", begun, twin)


def _title(day: DaySummary) -> str:
    return day.title or "Weigh day"


def _count(day: DaySummary) -> str:
    return f"{day.drafts} draft{'' if day.drafts == 1 else 's'}"


def _when(moment: datetime.datetime, *, twin: bool = False) -> str:
    return f"{moment:%Y-%m-%d %H:%M:%S}" if twin else f"{moment:%Y-%m-%d %H:%M}"


@cache
def _bundled_title() -> str:
    """The title of the day that every new store begins with."""
    for path in sorted((Path(__file__).parents[2] / "bundled").glob("*.toml")):
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("title"):
                return line.partition("=")[2].strip().strip('"')
    return ""


async def pads(request: Request) -> Response:
    """A day at the pads."""
    day_id = request.path_params["day"]
    station = station_of(request)
    opened = await station.day(day_id)
    page = await station.run(pads_page, day_id, opened.day, seq=opened.seq, may_weigh=_may_weigh(request))
    kept = await station.run(kept_plan, station.store, day_id)
    page = replace(page, data={**page.data, "plan": kept})
    return render(request, "pads.html", page)


async def plan(request: Request) -> Response:
    """The rest of a day, planned."""
    day_id = request.path_params["day"]
    station = station_of(request)
    opened = await station.day(day_id)
    kept = await station.run(kept_plan, station.store, day_id)
    page = await station.run(plan_page, day_id, opened.day, kept, seq=opened.seq, may_weigh=_may_weigh(request))
    return render(request, "plan.html", page)


async def bench(request: Request) -> Response:
    """A day at the bench."""
    day_id = request.path_params["day"]
    station = station_of(request)
    taken, corrected = await _taken(station, day_id)
    others = await _others(station, day_id)
    units = request.query_params.get("units")
    answer = await station.findings(day_id)
    asked = request.query_params.get("before", "")
    page: BenchPage = await station.run(
        bench_page,
        day_id,
        answer.findings,
        taken=taken,
        corrected=corrected,
        others=others,
        units=units if units in UNITS else None,
        before=int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 7 else None,
    )
    return render(request, "bench.html", page)


async def _taken(station: Station, day_id: str) -> tuple[dict[int, Taken], dict[int, Taken]]:
    """How drafts and corrections came, by their numbers."""
    photos = await station.run(station.store.photo_keys, day_id)
    came: dict[Part, dict[int, Taken]] = {Part.DRAFT: {}, Part.CORRECTION: {}}
    for entry in await station.history(day_id):
        if entry.kind in came:
            received = f"{entry.received:%Y-%m-%d %H:%M:%S} UTC"
            came[entry.kind][entry.number] = Taken(entry.key, entry.device, received, entry.key in photos)
    return came[Part.DRAFT], came[Part.CORRECTION]


async def _others(station: Station, day_id: str) -> list[PageLink]:
    """Other days that weigh a vehicle of the same name."""
    opened = await station.day(day_id)
    links: dict[str, PageLink] = {}
    for name in opened.day.vehicles:
        for day in await station.run(station.store.days_with_vehicle, name, 12):
            if day.id != day_id:
                href = f"/days/{day_id}/compare/{day.id}"
                hint = f"begun {_when(day.created)} UTC, {_count(day)}"
                links.setdefault(day.id, PageLink(href, _title(day), hint))
    return list(links.values())[:12]


async def compare(request: Request) -> Response:
    """Two days of the same vehicle side by side."""
    station, day_id, other = station_of(request), request.path_params["day"], request.path_params["other"]
    here, there = await station.findings(day_id), await station.findings(other)
    names = await _names(station, day_id, other)
    page = await station.run(compare_page, here.findings, there.findings, ids=(day_id, other), names=names)
    return render(request, "compare.html", page)


async def _names(station: Station, day_id: str, other: str) -> tuple[str, str]:
    """What two days are called beside one another; days of one title by when they were begun, too."""
    days = [await station.run(station.store.day, name) for name in (day_id, other)]
    first, second = (f"{card.title}, {card.begun}" if card.twin else card.title for card in _cards(days))
    return first, second


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
    influence = await asked(station, opened, lambda weighed: influence_data(weighed, f"{day_id}.toml", state))
    page = await station.run(ask_page, day_id, opened.day, state, influence, may_weigh=_may_weigh(request))
    return render(request, "ask.html", page)


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
        except (Problem, DayFileError) as error:
            said = problem_of(error)
            faults = "; ".join(_fault(one.line, one.path, f"{one.value} {one.message}") for one in said.faults)
            result = taught_nothing(opened.day, record, faults or said.message, options)
        else:
            result = await station.run(learned_result, answer, record, options)
    rig = station.live.simulation
    simulated = rig if rig is not None and rig.day.title == opened.day.title else None
    page = await station.run(
        learn_page, opened.id, opened.day, logs, result, simulation=simulated, may_weigh=_may_weigh(request)
    )
    return render(request, "learn.html", page)


async def trailer_drawing(request: Request) -> Response:
    """How much trailer, as SVG."""
    from steelyard.report import trailer_svg

    station, day_id = station_of(request), request.path_params["day"]
    wanted = {key: request.query_params[key] for key in ("from", "at") if key in request.query_params}
    theme = "dark" if request.query_params.get("theme") == "dark" else "light"
    opened = await station.day(day_id)
    svg = await asked(station, opened, lambda weighed: trailer_svg(trailer_answer(weighed, wanted), theme=theme))
    return Response(svg, media_type="image/svg+xml")


# ---- what is taken away ----


async def file(request: Request) -> Response:
    """The day as a weigh-day file."""
    day_id = request.path_params["day"]
    text = await station_of(request).text(day_id)
    return _download(text.encode(), "application/toml", f"{day_id}.toml")


async def ticket(request: Request) -> Response:
    """The weigh ticket as PDF.

    Raises
    ------
    Problem: nothing was weighed that a ticket could say.
    """
    from steelyard.report import ticket_pdf

    station, day_id = station_of(request), request.path_params["day"]
    answer = await station.findings(day_id)
    paper = "a4" if request.query_params.get("paper") == "a4" else "letter"
    try:
        pdf = await station.run(lambda: ticket_pdf(answer.findings, paper=paper))
    except ValueError as error:
        raise Problem(409, "no_ticket", str(error)) from error
    return _download(pdf, "application/pdf", f"{day_id}.pdf")


async def drawing(request: Request) -> Response:
    """The plan view of a state, or of the change to it, as SVG.

    Raises
    ------
    Problem: there is no such state.
    """
    from steelyard.report import plan_view_svg

    station, state = station_of(request), request.path_params["state"]
    answer = await station.findings(request.path_params["day"])
    against = request.query_params.get("against")
    asked = request.query_params.get("theme")
    theme = "dark" if asked == "dark" else "transparent" if asked == "transparent" else "light"
    try:
        svg = await station.run(lambda: plan_view_svg(answer.findings, state, against=against, theme=theme))
    except (KeyError, ValueError) as error:
        raise Problem(404, "no_drawing", "there is no such state to draw") from error
    return Response(svg, media_type="image/svg+xml")


def _download(body: bytes, media_type: str, name: str) -> Response:
    return Response(body, media_type=media_type, headers={"content-disposition": f'attachment; filename="{name}"'})


# ---- a new rig ----


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
    return RedirectResponse(f"/days/{day_id}/pads#first", 303)


# ---- the yard ----


async def yard(request: Request) -> Response:
    """Vehicles and instruments kept between days."""
    return render(request, "yard.html", await _yard_page(station_of(request)), here="yard")


async def _yard_page(station: Station) -> YardPage:
    vehicles = await station.run(station.store.shelf, Shelf.VEHICLE)
    instruments = await station.run(station.store.shelf, Shelf.INSTRUMENT)
    days = tuple(_cards(await station.days(_A_PAGE)))
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
    return RedirectResponse("/yard", 303)


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
    return RedirectResponse(f"/days/{await station.import_text(text)}/pads", 303)


# ---- who comes in ----


def _here(request: Request) -> bool:
    """Whether the browser sits on the machine that runs the station."""
    viewer = getattr(request.state, "viewer", None)
    return viewer is not None and viewer.here


async def pair(request: Request) -> Response:
    """Show a code, or take one."""
    return await _pair(request, typed=request.query_params.get("code", "")[:40])


async def _pair(request: Request, *, typed: str = "", fault: str = "", status: int = 200) -> Response:
    station, here = station_of(request), _here(request)
    devices = await station.run(station.store.devices) if here else ()
    look = request.query_params.get("role") == "look"
    page = pair_page(station.pairing, devices, here=here, look=look, typed=typed, fault=fault)
    return render(request, "pair.html", page, here="pair", status=status)


async def let_in(request: Request) -> Response:
    """Let a device in that shows the code."""
    station, form = station_of(request), await request.form()
    code, name = str(form.get("code", "")), str(form.get("name", ""))
    address = "" if request.client is None else request.client.host
    response = RedirectResponse("/", 303)
    try:
        let_in = station.pairing.let_in
        await station.run(let_in, request.state.sessions, response, code=code, name=name, address=address)
    except Problem as problem:
        fault = problem.message[:1].upper() + problem.message[1:] + "."
        return await _pair(request, typed=code[:40], fault=fault, status=problem.status)
    return response


async def shut_out(request: Request) -> Response:
    """Send a paired device away; only where the station runs."""
    device = str((await request.form()).get("device", ""))
    await station_of(request).run(request.state.sessions.shut_out, device)
    return RedirectResponse("/pair", 303)


async def trust(request: Request) -> Response:
    """What works without the station, and how to make more of it work."""
    return render(request, "trust.html", trust_page(station_of(request)), here="trust")


async def certificate(request: Request) -> Response:
    """The certificate of the station's own authority, in the form that phones open by themselves.

    Raises
    ------
    Problem: there is none.
    """
    authority = station_of(request).authority
    if authority is None:
        raise Problem(404, "no_certificate", "this station speaks no TLS; start it with --https")
    return _download(authority.der, "application/x-x509-ca-cert", "steelyard-station.crt")


# ---- without the station ----


async def offline(request: Request) -> Response:
    """What is shown for a page that this device never saw."""
    return render(request, "offline.html", MessagePage("", ""))


async def service_worker(request: Request) -> Response:
    """The service worker, at the root so that it may serve every page, with the list of what it keeps at hand."""
    del request
    text = sent_files()["sw.js"].read_text(encoding="utf-8")
    listed = "[" + ", ".join(f'"{path}"' for path in ("/offline", *addresses_asked_for())) + "]"
    text = text.replace("SHELL_FILES", listed).replace("station-VERSION", f"station-{version()}")
    return Response(text, media_type="text/javascript")


async def favicon(request: Request) -> Response:
    """Browsers ask for it whatever the page says."""
    del request
    return RedirectResponse("/static/icon.svg", 308)


routes: list[BaseRoute] = [
    route("GET", "/", home, may=May.LOOK),
    route("GET", "/days/new", new, may=May.LOOK),
    route("POST", "/days/new", make_new, may=May.WEIGH),
    route("GET", "/days/{day}/pads", pads, may=May.LOOK),
    route("GET", "/days/{day}/plan", plan, may=May.LOOK),
    route("GET", "/days/{day}/ask", ask, may=May.LOOK),
    route("GET", "/days/{day}/ask/trailer.svg", trailer_drawing, may=May.LOOK),
    route("GET", "/days/{day}/learn", learn, may=May.LOOK),
    route("GET", "/days/{day}/compare/{other}", compare, may=May.LOOK),
    route("GET", "/days/{day}/day.toml", file, may=May.LOOK),
    route("GET", "/days/{day}/ticket.pdf", ticket, may=May.LOOK),
    route("GET", "/days/{day}/drawings/{state}.svg", drawing, may=May.LOOK),
    route("GET", "/days/{day}", bench, may=May.LOOK),
    route("GET", "/yard", yard, may=May.LOOK),
    route("POST", "/yard", take_in, may=May.WEIGH),
    route("POST", "/yard/day", put_out, may=May.WEIGH),
    route("GET", "/pair", pair, may=May.ANYONE),
    route("POST", "/pair", let_in, may=May.ANYONE),
    route("POST", "/pair/revoke", shut_out, may=May.OWN),
    route("GET", "/trust", trust, may=May.ANYONE, plain=True),
    route("GET", "/authority.crt", certificate, may=May.ANYONE, plain=True),
    route("GET", "/offline", offline, may=May.ANYONE),
    route("GET", "/sw.js", service_worker, may=May.ANYONE),
    route("GET", "/favicon.ico", favicon, may=May.ANYONE, plain=True),
]
