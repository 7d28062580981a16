"""The interface for programs, ``/api/v1``: JSON and weigh-day files in and out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import BaseRoute

from steelyard.questions.shape import Also
from steelyard.store import Appended, Away, DaySummary, Photo
from steelyard.web.api.photographs import PICTURES, photographer
from steelyard.web.api.sent import AdditionShape, SentCargo, SentChoice, SentCorrection, SentDraft, SentState, SentTitle
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import DAY, PHOTO, May, route
from steelyard.web.http.sessions import Viewer
from steelyard.web.http.told import TEXT, WRITES, Given, Later, Parameter, Told, answered, kept
from steelyard.web.settings import API
from steelyard.web.station.events import EVENTS, MEDIA_TYPE
from steelyard.web.station.places import PlaceShape, places_of
from steelyard.web.station.station import PATIENCE, Station

_TOML = "application/toml"

_Whole = Annotated[int, Also(minimum=0)]


@dataclass(frozen=True, slots=True)
class SummaryShape:
    """A line of the list of days."""

    id: str
    title: str
    created: Annotated[str, Also(format="date-time")]
    changed: Annotated[str, Also(format="date-time")]
    drafts: Annotated[_Whole, "How many."]
    seq: Annotated[_Whole, "The last addition."]


@dataclass(frozen=True, slots=True)
class DaysShape:
    """Days, newest first."""

    days: tuple[SummaryShape, ...]
    before: Annotated[str | None, "What to give as `before` for the next page; null on the last one."]


@dataclass(frozen=True, slots=True)
class NewDayShape:
    """The new day."""

    id: Annotated[str, "Its name in the addresses."]


@dataclass(frozen=True, slots=True)
class PlacesShape:
    """Where readings can be taken."""

    states: Annotated[Mapping[str, tuple[PlaceShape, ...]], "By state the places that a draft may read."]
    instruments: Annotated[
        Mapping[str, Literal["pad", "platform"]], "A pad is put under one wheel end; a platform under any place."
    ]


@dataclass(frozen=True, slots=True)
class PhotoShape:
    """The outcome of sending a photo."""

    key: Annotated[str, "Of the draft."]
    replay: Annotated[bool, "Whether the draft had a photo before, which stays."]


def _station(request: Request) -> Station:
    return request.state.station


def _device(request: Request) -> str:
    viewer: Viewer | None = request.state.viewer
    return "" if viewer is None else viewer.device


async def list_days(request: Request) -> Response:
    """The days, newest first, or those that are searched for."""
    limit = incoming.number(request, "limit", default=50, least=1, most=200)
    typed, before, away = incoming.one_line(request, "search"), incoming.before(request), incoming.away(request)
    if typed:
        found = await _station(request).search(typed, limit, before, away)
        return answered(DaysShape(tuple(_summary(day) for day in found.days), found.more))
    days = await _station(request).days(limit, before, away)
    more = days[-1].id if len(days) == limit else None
    return answered(DaysShape(tuple(_summary(day) for day in days), more))


async def add_day(request: Request) -> Response:
    """Import a weigh-day file."""
    day_id = await _station(request).import_text(await incoming.read_text(request))
    return answered(NewDayShape(day_id), 201, location=f"{API}/days/{day_id}")


async def get_day(request: Request) -> Response:
    """Export a day."""
    snapshot = await _station(request).snapshot(incoming.day_id(request))
    return Response(snapshot.text, media_type=f"{_TOML}; charset=utf-8", headers={"etag": f'"{snapshot.seq}"'})


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
    return answered(PlacesShape(places_of(day), {name: str(item.kind) for name, item in day.instruments.items()}))  # pyright: ignore[reportArgumentType] - one of the two kinds


async def listen(request: Request) -> Response:
    """Live loads and what is added to a day, as server-sent events."""
    chunks = await _station(request).events(incoming.day_id(request), incoming.last_event(request))
    if request.method == "HEAD":
        return Response(media_type=MEDIA_TYPE)
    return StreamingResponse(chunks, media_type=MEDIA_TYPE, headers={"x-accel-buffering": "no"})


async def add_draft(request: Request) -> Response:
    """Keep a draft."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).keep(*_addition(request, data)), data)


async def add_correction(request: Request) -> Response:
    """Keep a correction."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).correct(*_addition(request, data)), data)


async def choose_rules(request: Request) -> Response:
    """Keep a choice of rules of the road."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).choose_rules(*_addition(request, data)), data)


async def add_title(request: Request) -> Response:
    """Keep another title."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).rename(*_addition(request, data)), data)


async def add_state(request: Request) -> Response:
    """Keep a state."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).make_state(*_addition(request, data)), data)


async def add_cargo(request: Request) -> Response:
    """Keep a cargo."""
    data = await incoming.read_object(request)
    return _appended(await _station(request).make_cargo(*_addition(request, data)), data)


async def get_photo(request: Request) -> Response:
    """The photo of a draft.

    Raises
    ------
    Problem: it has none.
    """
    photo = await _station(request).photo(incoming.day_id(request), incoming.draft_key(request))
    if photo is None:
        raise Problem(404, "no_such_photo", "that draft has no photo")
    return Response(photo.data, media_type=photo.media_type)


async def put_photo(request: Request) -> Response:
    """Keep the photo of a draft."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    day_id, key = incoming.day_id(request), incoming.draft_key(request)
    photo = Photo(kind, await request.body())
    new = await _station(request).keep_photo(day_id, key, photo, *photographer(request))
    return answered(PhotoShape(key, replay=not new), 201 if new else 200)


def _addition(request: Request, data: dict[str, Any]) -> tuple[str, dict[str, Any], str, int | None]:
    """An addition to a day: the day, what is added, by whom, and how many additions the day must still have."""
    return incoming.day_id(request), data, _device(request), incoming.expected(request)


def _appended(appended: Appended, data: Mapping[str, Any]) -> Response:
    key = data.get("key")
    shape = AdditionShape(key, appended.number, appended.seq, appended.replay)
    return answered(shape, 200 if appended.replay else 201)


def _summary(day: DaySummary) -> SummaryShape:
    return SummaryShape(day.id, day.title, day.created.isoformat(), day.changed.isoformat(), day.drafts, day.seq)


def _findings() -> type:
    from steelyard.questions.findings import FindingsShape

    return FindingsShape


_UNITS = Parameter("units", "As in `kg,mm`; otherwise the day's own.")


def _bounded(name: str, words: str, least: int, most: int, default: int | None = None) -> Parameter:
    limits: dict[str, Any] = {"type": "integer", "minimum": least, "maximum": most}
    return Parameter(name, words, limits if default is None else {**limits, "default": default})


PUT_AWAY = Parameter(
    "put_away",
    "Whether what was put away is in the list: `without` it, `with` it, or that `only`.",
    {"enum": [str(one) for one in Away], "default": str(Away.WITHOUT)},
)

_IF_MATCH = Parameter(
    "If-Match",
    "The ETag of the day as it was looked at. If something was added since, nothing is kept: 412 with the code "
    "`moved_on`, and a message that says what came.",
    {**TEXT, "pattern": '^("[0-9]{1,9}"|[*])$'},
    "header",
)


def _adding(operation: str, what: str, sent: type) -> Told:
    """The description of an address that adds something to a day."""
    return Told(
        operation,
        f"Keep {what}.",
        kept(AdditionShape),
        takes=sent,
        more="Answered once it is on disk; the findings follow in their own time. Without `If-Match` additions of "
        "several devices and stations are kept one after the other.",
        refuses=(404, 412, *WRITES),
        parameters=(_IF_MATCH,),
    )


_LIST = Told(
    "listDays",
    "The days, newest first, or those that are searched for.",
    {200: Given("A page of days.", DaysShape)},
    more="A search for several words looks at 2,000 days at a time: its page may be short, or empty, and still have a "
    "`before` with which it goes on.",
    refuses=(404, 422),
    parameters=(
        _bounded("limit", "How many at most.", 1, 200, 50),
        Parameter(
            "search",
            "Only days that have all of these words, by their beginnings, in the title or the names of vehicles; or "
            "were begun or weighed on a date, `2026-05-14`, or in a month, `2026-05`.",
            {**TEXT, "maxLength": 200},
        ),
        Parameter("before", "Only days older than this one.", {**TEXT, "pattern": "^[a-z0-9]{1,40}$"}),
        PUT_AWAY,
    ),
)
_IMPORT = Told(
    "addDay",
    "Import a weigh-day file.",
    {201: Given("Kept.", NewDayShape)},
    takes=_TOML,
    more="The text is kept letter for letter.",
    refuses=(400, 413, 422, 507),
)
_EXPORT = Told(
    "getDay",
    "The day as a weigh-day file: the text that was imported, then every addition in order.",
    {200: Given("The file.", _TOML)},
    refuses=(404,),
)
_FINDINGS = Told(
    "getFindings",
    "Findings, verdicts, consistency and cautions, as `steelyard findings --json` gives them.",
    {200: Given("The findings of the day as it is now.", Later(_findings))},
    more="A day of a thousand drafts takes a second or two, one of sixty states as long. What takes longer than "
    "`wait` is answered with 504 and the code `reckoning`: its message says of how many drafts and for how "
    "long, and `Retry-After` when to ask again. Keeping drafts never waits for it.",
    refuses=(404, 422, 504),
    parameters=(_UNITS, _bounded("wait", "For how many seconds.", 0, 600, int(PATIENCE))),
)
_PLACES = Told(
    "listPlaces",
    "By state every place that a draft may read: wheels, axles, groups, whole vehicles, stands.",
    {200: Given("The places, state by state.", PlacesShape)},
    refuses=(404,),
)
_LISTEN = Told(
    "listen",
    "What happens from now on, as server-sent events.",
    {200: Given("A stream that does not end.", MEDIA_TYPE)},
    more=" ".join(f"`{name}`: {said}" for name, said in EVENTS.items()),
    refuses=(404,),
    parameters=(
        Parameter(
            "Last-Event-ID",
            "The last addition that was seen; those after it come first.",
            {**TEXT, "pattern": "^[0-9]{1,9}$"},
            "header",
        ),
    ),
)
_GET_PHOTO = Told(
    "getPhoto",
    "The one photo of a whole draft; a wheel's are among `listPhotographs`.",
    {200: Given("The picture.", PICTURES)},
    refuses=(404,),
)
_PUT_PHOTO = Told(
    "putPhoto",
    "Keep one photo of a whole draft, at most 5 MB; the first one stays.",
    kept(PhotoShape, "The draft has a photo, which stays."),
    more="Its record with its digest is added to the file of the day, as `addPhotograph` adds one.",
    takes=PICTURES,
    refuses=(404, 413, 422, 507),
)

_DAYS = f"{API}/days"
_DAY = f"{_DAYS}/{{id}}"
_PHOTO = f"{_DAY}/drafts/{{key}}/photo"

routes: list[BaseRoute] = [
    route("GET", _DAYS, list_days, may=May.LOOK, told=_LIST),
    route("POST", _DAYS, add_day, may=May.WEIGH, body=DAY, told=_IMPORT),
    route("GET", _DAY, get_day, may=May.LOOK, told=_EXPORT),
    route("GET", f"{_DAY}/findings", get_findings, may=May.LOOK, told=_FINDINGS),
    route("GET", f"{_DAY}/places", get_places, may=May.LOOK, told=_PLACES),
    route("GET", f"{_DAY}/events", listen, may=May.LOOK, told=_LISTEN),
    route("POST", f"{_DAY}/drafts", add_draft, may=May.WEIGH, told=_adding("addDraft", "a draft", SentDraft)),
    route(
        *("POST", f"{_DAY}/corrections", add_correction),
        may=May.WEIGH,
        told=_adding("addCorrection", "a correction", SentCorrection),
    ),
    route(
        *("POST", f"{_DAY}/rules/choose", choose_rules),
        may=May.WEIGH,
        told=_adding("chooseRules", "a choice of rules of the road", SentChoice),
    ),
    route("POST", f"{_DAY}/titles", add_title, may=May.WEIGH, told=_adding("addTitle", "another title", SentTitle)),
    route("POST", f"{_DAY}/states", add_state, may=May.WEIGH, told=_adding("addState", "a state", SentState)),
    route("POST", f"{_DAY}/cargo", add_cargo, may=May.WEIGH, told=_adding("addCargo", "a cargo", SentCargo)),
    route("GET", _PHOTO, get_photo, may=May.LOOK, told=_GET_PHOTO),
    route("PUT", _PHOTO, put_photo, may=May.WEIGH, body=PHOTO, told=_PUT_PHOTO),
]
