"""The interface for programs, ``/api/v1``: JSON and weigh-day files in and out. See ``openapi.py``."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import BaseRoute

from steelyard.store import Appended, DaySummary, Photo, StoredEntry
from steelyard.web.api.learn import put_on
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import DAY, PHOTO, May, route
from steelyard.web.http.sessions import Viewer
from steelyard.web.pages.indicators.routes import list_indicators, put_wiring
from steelyard.web.settings import API
from steelyard.web.station import yard
from steelyard.web.station.events import MEDIA_TYPE
from steelyard.web.station.live import LiveLoads
from steelyard.web.station.places import places_of
from steelyard.web.station.station import PATIENCE, Station

_TOML = "application/toml; charset=utf-8"


def _station(request: Request) -> Station:
    return request.state.station


def _device(request: Request) -> str:
    viewer: Viewer | None = request.state.viewer
    return "" if viewer is None else viewer.device


async def list_days(request: Request) -> Response:
    """The days, newest first."""
    limit = incoming.number(request, "limit", default=50, least=1, most=200)
    days = await _station(request).days(limit, incoming.before(request))
    more = days[-1].id if len(days) == limit else None
    return JSONResponse({"days": [_summary(day) for day in days], "before": more})


async def add_day(request: Request) -> Response:
    """Import a weigh-day file."""
    day_id = await _station(request).import_text(await incoming.read_text(request))
    return JSONResponse({"id": day_id}, 201, headers={"location": f"{API}/days/{day_id}"})


async def get_day(request: Request) -> Response:
    """Export a day."""
    snapshot = await _station(request).snapshot(incoming.day_id(request))
    return Response(snapshot.text, media_type=_TOML, headers={"etag": f'"{snapshot.seq}"'})


async def get_findings(request: Request) -> Response:
    """The findings of a day."""
    units = incoming.units(request)
    station = _station(request)
    wait = incoming.number(request, "wait", default=int(PATIENCE), least=0, most=600)
    answer = await station.findings(incoming.day_id(request), wait)
    data = await station.run(station.as_data, answer, units)
    return JSONResponse(data, headers={"etag": f'"{answer.seq}"'})


async def get_places(request: Request) -> Response:
    """Where a reading can stand, state by state, and the instruments of the day."""
    day = (await _station(request).day(incoming.day_id(request))).day
    instruments = {name: str(item.kind) for name, item in day.instruments.items()}
    return JSONResponse({"states": places_of(day), "instruments": instruments})


async def get_history(request: Request) -> Response:
    """What was added to a day."""
    after = incoming.number(request, "after", default=0, least=0, most=10**9 - 1)
    entries = await _station(request).history(incoming.day_id(request), after)
    return JSONResponse({"entries": [_entry(entry) for entry in entries]})


async def listen(request: Request) -> Response:
    """Live loads and what is added to a day, as server-sent events."""
    chunks = await _station(request).events(incoming.day_id(request), incoming.last_event(request))
    if request.method == "HEAD":
        return Response(media_type=MEDIA_TYPE)
    return StreamingResponse(chunks, media_type=MEDIA_TYPE, headers={"x-accel-buffering": "no"})


async def add_draft(request: Request) -> Response:
    """Keep a draft."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).keep(incoming.day_id(request), data, _device(request)), data)


async def add_correction(request: Request) -> Response:
    """Keep a correction."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).correct(incoming.day_id(request), data, _device(request)), data)


async def add_state(request: Request) -> Response:
    """Keep a state."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).make_state(incoming.day_id(request), data, _device(request)), data)


async def add_cargo(request: Request) -> Response:
    """Keep a cargo."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).make_cargo(incoming.day_id(request), data, _device(request)), data)


async def get_photo(request: Request) -> Response:
    """The photo of a draft.

    Raises
    ------
    Problem: it has none.
    """
    station = _station(request)
    photo = await station.run(station.store.photo, incoming.day_id(request), incoming.draft_key(request))
    if photo is None:
        raise Problem(404, "no_such_photo", "that draft has no photo")
    return Response(photo.data, media_type=photo.media_type)


async def put_photo(request: Request) -> Response:
    """Keep the photo of a draft."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    day_id, key = incoming.day_id(request), incoming.draft_key(request)
    photo = Photo(kind, await request.body())
    new = await _station(request).keep_photo(day_id, key, photo, _device(request))
    return JSONResponse({"key": key, "replay": not new}, 201 if new else 200)


async def get_channels(request: Request) -> Response:
    """What every live channel says, in kilograms, and the text as it came."""
    live = _station(request).live
    return JSONResponse({"channels": {name: _channel(live, name) for name in sorted(live.channels)}})


async def believe(request: Request) -> Response:
    """A person has looked: a pad that seemed stuck does stand still.

    Raises
    ------
    Problem: there is no such channel.
    """
    if not _station(request).live.believe(request.path_params["name"]):
        raise Problem(404, "no_such_channel", "there is no channel of that name")
    return JSONResponse({"believed": True})


async def drive(request: Request) -> Response:
    """Drive the simulated rig, or pull its cable.

    Raises
    ------
    Problem: there is none, or it cannot do that.
    """
    simulation = _station(request).live.simulation
    if simulation is None:
        raise Problem(404, "not_simulated", "there is no simulated rig here; start the station with --simulate")
    data = await incoming.read_object(request)
    if "put_on" in data:
        return await put_on(simulation, data)
    number, plugged = data.get("drive", ...), data.get("plugged", ...)
    if set(data) - {"drive", "plugged"} or not (plugged is ... or isinstance(plugged, bool)):
        raise Problem(422, "bad_drive", '"drive" is the number of a draft or null, "plugged" is true or false')
    if number is None:
        simulation.drive_off()
    elif isinstance(number, int) and not isinstance(number, bool) and 1 <= number <= len(simulation.drafts):
        simulation.drive_on(number)
    elif number is not ...:
        raise Problem(422, "bad_drive", f'"drive" is a number from 1 to {len(simulation.drafts)}, or null')
    if isinstance(plugged, bool):
        simulation.plug(plugged=plugged)
    return JSONResponse(simulation.standing())


async def get_description(request: Request) -> Response:
    """This interface, described for programs."""
    from steelyard.web.http.openapi import description

    del request
    return JSONResponse(description())


def _channel(live: LiveLoads, name: str) -> dict[str, object]:
    sample, settled = live.channels[name].sample, live.channels[name].settled
    return {
        "source": live.sources.get(name, ""),
        "value": sample.value_kg,
        "steady": settled.steady,
        "why": settled.why,
        "trouble": None if sample.trouble is None else sample.trouble.words,
        "raw": sample.raw,
    }


def _appended(appended: Appended, data: dict[str, object]) -> Response:
    body = {"key": data.get("key"), "number": appended.number, "seq": appended.seq, "replay": appended.replay}
    return JSONResponse(body, 200 if appended.replay else 201)


def _summary(day: DaySummary) -> dict[str, object]:
    return {
        "id": day.id,
        "title": day.title,
        "created": day.created.isoformat(),
        "changed": day.changed.isoformat(),
        "drafts": day.drafts,
        "seq": day.seq,
    }


def _entry(entry: StoredEntry) -> dict[str, object]:
    return {
        "seq": entry.seq,
        "kind": entry.kind.value,
        "key": entry.key,
        "number": entry.number,
        "text": entry.text,
        "device": entry.device,
        "received": entry.received.isoformat(),
    }


_DAY = f"{API}/days/{{id}}"

routes: list[BaseRoute] = [
    *yard.routes,
    route("GET", f"{API}/openapi.json", get_description, may=May.LOOK),
    route("GET", f"{API}/channels", get_channels, may=May.LOOK),
    route("POST", f"{API}/channels/{{name}}/believe", believe, may=May.WEIGH),
    route("GET", f"{API}/indicators", list_indicators, may=May.LOOK),
    route("PUT", f"{API}/indicators/{{name}}", put_wiring, may=May.WEIGH),
    route("POST", f"{API}/simulation", drive, may=May.WEIGH),
    route("GET", f"{API}/days", list_days, may=May.LOOK),
    route("POST", f"{API}/days", add_day, may=May.WEIGH, body=DAY),
    route("GET", _DAY, get_day, may=May.LOOK),
    route("GET", f"{_DAY}/findings", get_findings, may=May.LOOK),
    route("GET", f"{_DAY}/places", get_places, may=May.LOOK),
    route("GET", f"{_DAY}/history", get_history, may=May.LOOK),
    route("GET", f"{_DAY}/events", listen, may=May.LOOK),
    route("POST", f"{_DAY}/drafts", add_draft, may=May.WEIGH),
    route("POST", f"{_DAY}/corrections", add_correction, may=May.WEIGH),
    route("POST", f"{_DAY}/states", add_state, may=May.WEIGH),
    route("POST", f"{_DAY}/cargo", add_cargo, may=May.WEIGH),
    route("GET", f"{_DAY}/drafts/{{key}}/photo", get_photo, may=May.LOOK),
    route("PUT", f"{_DAY}/drafts/{{key}}/photo", put_photo, may=May.WEIGH, body=PHOTO),
]
