"""The page of the indicators: what is connected, which pattern reads it, which pad each channel is."""

from __future__ import annotations

from dataclasses import replace

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.capture import PatternError
from steelyard.dayfile import DayFileError
from steelyard.store import Shelf
from steelyard.web.http.problem import Problem, problem_of
from steelyard.web.http.routes import May, route
from steelyard.web.pages.indicators.page import IndicatorsPage, checked, proposed, taught_lines, with_lines_of
from steelyard.web.pages.shell.frame import render, to_of
from steelyard.web.station.indicators import cards, known_pads
from steelyard.web.station.refused import RefusalError
from steelyard.web.station.station import Station
from steelyard.web.station.wiring import NAME, wiring_of

_NO_PAD = "-"  # of a form: no choice


def _station(request: Request) -> Station:
    return request.state.station


async def _page(request: Request) -> IndicatorsPage:
    station = _station(request)
    pads = await known_pads(station)
    indicators = cards(station.live, station.connected, pads)
    kept = await station.run(station.store.shelf, Shelf.TEACHING)
    return IndicatorsPage(indicators, taught_lines(kept, indicators), pads)


def _render(request: Request, page: IndicatorsPage, status: int = 200) -> Response:
    return render(request, "indicators.html", page, here="indicators", status=status)


async def indicators(request: Request) -> Response:
    """The page of connected instruments and taught patterns; with ``lines`` of an instrument, ready to teach it."""
    page = with_lines_of(await _page(request), request.query_params.get("lines", ""))
    return _render(request, replace(page, said=_said(request.query_params.get("kept", ""))))


def _said(name: str) -> str:
    return f"Kept {name}." if NAME.fullmatch(name) else ""


async def propose(request: Request) -> Response:
    """Propose patterns for the lines that were pasted."""
    form = await request.form()
    texts = {name: value for name, value in form.items() if isinstance(value, str)}
    page = await _station(request).run(proposed, await _page(request), texts, _ticked(form))
    return _render(request, page)


async def keep_pattern(request: Request) -> Response:
    """Keep a pattern by its name, and read by it those instruments that were ticked.

    Raises
    ------
    Problem: it is no pattern, or has no name.
    """
    form = await request.form()
    name = str(form.get("name", "")).strip()
    if NAME.fullmatch(name) is None:
        raise Problem(422, "no_name", "a pattern has a name of 1 to 40 letters, digits, - and _")
    try:
        pattern = checked(str(form.get("pattern", "")), name)
    except PatternError as error:
        raise Problem(422, "no_pattern", f"the pattern {error}") from error
    await _station(request).teach(pattern, request.state.viewer.device, _ticked(form))
    return RedirectResponse(f"{to_of(request)('indicators')}?kept={name}&taught=yes#connected", 303)


def _ticked(form: FormData) -> list[str]:
    return [value for value in form.getlist("reader") if isinstance(value, str)]


async def choose(request: Request) -> Response:
    """Choose an instrument's pattern and the pads of its channels."""
    station, form = _station(request), await request.form()
    name = str(form.get("instrument", ""))
    pattern = str(form.get("pattern", ""))
    named = zip(form.getlist("channel"), form.getlist("pad"), strict=False)
    pads = {str(channel): str(pad) for channel, pad in named if pad not in (_NO_PAD, "")}
    try:
        wiring = wiring_of({"pattern": pattern or None, "pads": pads})
        await station.wire(name, wiring, request.state.viewer.device)
    except (DayFileError, RefusalError) as error:
        problem = problem_of(error)
        fault = f"{problem.message[:1].upper()}{problem.message[1:]}."
        return _render(request, replace(await _page(request), fault=fault), problem.status)
    return RedirectResponse(f"{to_of(request)('indicators')}?kept={name}#connected", 303)


routes: list[BaseRoute] = [
    route("GET", "/indicators", indicators, may=May.LOOK),
    route("POST", "/indicators", propose, may=May.WEIGH),
    route("POST", "/indicators/keep", keep_pattern, may=May.WEIGH),
    route("POST", "/indicators/choose", choose, may=May.WEIGH),
]
