"""The yard as data: vehicles and instruments kept between days, version by version, and days made of them."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.dayfile import DayFileError, Fault, Part, extended, read_block, write_instrument, write_vehicle
from steelyard.model import WeighDay
from steelyard.names import meant
from steelyard.questions.form import Reading
from steelyard.questions.kinds import Each, Object, Text
from steelyard.questions.shape import Also
from steelyard.store import Kept, Shelf
from steelyard.units import UnitSystem
from steelyard.web.api.days import PUT_AWAY, NewDayShape
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import SMALL, May, route
from steelyard.web.http.told import TEXT, WRITES, Given, Parameter, Told, answered, kept
from steelyard.web.settings import API
from steelyard.web.station.station import Station
from steelyard.web.station.wiring import NAME
from steelyard.web.station.yard import listed, new_day

SHELVES = {"vehicles": Shelf.VEHICLE, "instruments": Shelf.INSTRUMENT}
_PARTS = {Shelf.VEHICLE: Part.VEHICLE, Shelf.INSTRUMENT: Part.INSTRUMENT}
_MOST = 50  # things of the yard in one day


@dataclass(frozen=True, slots=True)
class ThingShape:
    """A vehicle or an instrument of the yard, in one version."""

    name: str
    version: Annotated[int, "From 1; the last one counts.", Also(minimum=1)]
    text: Annotated[str, "The block of a weigh-day file, every value with its unit."]
    learned: Annotated[Mapping[str, Any], "What weighing has shown of it beyond its labels."]
    device: Annotated[str, "Who saved it."]
    saved: Annotated[str, Also(format="date-time")]


@dataclass(frozen=True, slots=True)
class YardShape:
    """The newest version of everything, by name."""

    vehicles: tuple[ThingShape, ...]
    instruments: tuple[ThingShape, ...]


@dataclass(frozen=True, slots=True)
class SentThing:
    """A further version; the old ones stay."""

    text: Annotated[str, Text("Its block of a weigh-day file: `[vehicles.NAME]` and what belongs to it.", SMALL)]
    learned: Annotated[Mapping[str, Any] | None, Object("Left out, what was learned before stays.")] = None


@dataclass(frozen=True, slots=True)
class VersionShape:
    """The version that counts now."""

    name: str
    version: Annotated[int, "Its number.", Also(minimum=1)]


@dataclass(frozen=True, slots=True)
class ChosenThings:
    """The vehicles and instruments of a new day, each in its newest version."""

    vehicles: Annotated[tuple[str, ...], Each("Of the yard, one or more, each once.", Text("A name."))]
    instruments: Annotated[tuple[str, ...], Each("Those to weigh with, each once.", Text("A name."))] = ()

    def check(self, reading: Reading) -> None:
        """See that there is a vehicle, and that nothing is named twice."""
        if not self.vehicles:
            reading.fault("vehicles", "", "is empty; name one vehicle of the yard or more")
        for word, names in (("vehicles", self.vehicles), ("instruments", self.instruments)):
            if len(names) > _MOST:
                reading.fault(word, "", f"has {len(names)} names; a day has at most {_MOST} {word} of the yard")
            for name, count in Counter(names).items():
                if count > 1:
                    reading.fault(word, name, "is given twice; give it once")


def _station(request: Request) -> Station:
    return request.state.station


def shelf_and_name(request: Request) -> tuple[Shelf, str]:
    """The shelf and the name that the address gives.

    Raises
    ------
    Problem: there is no such shelf, or nothing can have that name.
    """
    shelf, name = SHELVES.get(request.path_params["shelf"]), request.path_params["name"]
    if shelf is None or NAME.fullmatch(name) is None:
        raise Problem(404, "not_in_the_yard", f"the yard has nothing called {name[:40]!r}")
    return shelf, name


async def list_yard(request: Request) -> Response:
    """The newest version of everything."""
    station, away = _station(request), incoming.away(request)
    found: dict[str, tuple[ThingShape, ...]] = {}
    for word, shelf in SHELVES.items():
        things = await station.run(listed, station.store, shelf, away)
        found[word] = tuple(_shape(thing) for thing in things)
    return answered(YardShape(**found))


async def get_kept(request: Request) -> Response:
    """One thing, in its newest version or in that asked for.

    Raises
    ------
    Problem: there is none.
    """
    shelf, name = shelf_and_name(request)
    version = incoming.number(request, "version", default=0, least=1, most=10**9 - 1) or None
    station = _station(request)
    thing = await station.run(station.store.kept, shelf, name, version)
    if thing is None:
        raise Problem(404, "not_in_the_yard", f"the yard has no {shelf} {name!r} of that version")
    return answered(_shape(thing))


async def save(request: Request) -> Response:
    """Keep a further version.

    Raises
    ------
    Problem, DayFileError: it is no sound vehicle or instrument of that name.
    """
    (shelf, name), units = shelf_and_name(request), incoming.units(request)
    sent = await incoming.read_body(request, SentThing, WeighDay())
    station = _station(request)
    sound = await station.run(_sound, shelf, name, sent.text, units)
    before = await station.run(station.store.kept, shelf, name)
    version = await station.shelve(shelf, name, sound, sent.learned, request.state.viewer.device)
    new = before is None or version > before.version
    return answered(VersionShape(name, version), 201 if new else 200)


def _sound(shelf: Shelf, name: str, text: str, units: UnitSystem | None) -> str:
    """The block as it is kept: read by the model, every value with its unit.

    Raises
    ------
    DayFileError: it is none, or of another name.
    """
    own = UnitSystem() if units is None else units
    block = read_block(text)
    day = extended(WeighDay(units=own), text) if block.part is _PARTS[shelf] else WeighDay()
    if shelf is Shelf.VEHICLE and name in day.vehicles:
        return write_vehicle(day.vehicles[name], own)
    if shelf is Shelf.INSTRUMENT and name in day.instruments:
        return write_instrument(day.instruments[name], own)
    fault = Fault(None, "", "", f"is not [{_PARTS[shelf]}.{name}] and what belongs to it")
    raise DayFileError("yard", (fault,))


async def make_day(request: Request) -> Response:
    """Begin a day without drafts of the newest versions.

    Raises
    ------
    Problem: something that the yard does not have. DayFileError: with every fault of the request, or of the day that
        they would make.
    """
    asked = await incoming.read_body(request, ChosenThings, WeighDay())
    station = _station(request)
    chosen = [await _newest(station, Shelf.VEHICLE, name) for name in asked.vehicles]
    tools = [await _newest(station, Shelf.INSTRUMENT, name) for name in asked.instruments]
    text = await station.run(new_day, chosen, tools, datetime.datetime.now(datetime.UTC).date())
    day_id = await station.import_text(text)
    return answered(NewDayShape(day_id), 201, location=f"{API}/days/{day_id}")


async def _newest(station: Station, shelf: Shelf, name: str) -> Kept:
    thing = await station.run(station.store.kept, shelf, name)
    if thing is None:
        known = [kept.name for kept in await station.run(station.store.shelf, shelf)]
        message = f"the yard has no {shelf} {name[:60]!r}; {meant(name[:60], known, 'it has')}"
        raise Problem(422, "not_in_the_yard", message)
    return thing


def _shape(thing: Kept) -> ThingShape:
    saved = thing.saved.isoformat()
    return ThingShape(thing.name, thing.version, thing.text, dict(thing.learned), thing.device, saved)


NAMED = (
    Parameter("shelf", "What kind of thing.", {"enum": list(SHELVES)}, "path"),
    Parameter("name", "Its name.", {**TEXT, "pattern": "^[A-Za-z0-9_-]{1,40}$"}, "path"),
)
_LIST = Told(
    "listYard",
    "The vehicles and instruments that are kept between days.",
    {200: Given("All of them.", YardShape)},
    refuses=(422,),
    parameters=(PUT_AWAY,),
)
_GET = Told(
    "getKept",
    "One of them.",
    {200: Given("It.", ThingShape)},
    refuses=(404, 422),
    parameters=(
        *NAMED,
        Parameter("version", "One of the versions; otherwise the newest.", {"type": "integer", "minimum": 1}),
    ),
)
_SAVE = Told(
    "saveKept",
    "Keep a further version, read by the same rules as a weigh-day file.",
    kept(VersionShape, "It is what the newest version says; nothing was added."),
    takes=SentThing,
    refuses=(404, *WRITES),
    parameters=(*NAMED, Parameter("units", "Of values that do not say theirs, as in `kg,mm`; otherwise lb,in.")),
)
_DAY_OF_YARD = Told(
    "addDayOfYard",
    "Begin a day without drafts: each vehicle alone, and each trailer on what can tow it.",
    {201: Given("Kept.", NewDayShape)},
    takes=ChosenThings,
    refuses=WRITES,
)

_YARD = f"{API}/yard"

routes: list[BaseRoute] = [
    route("GET", _YARD, list_yard, may=May.LOOK, told=_LIST),
    route("POST", f"{_YARD}/days", make_day, may=May.WEIGH, told=_DAY_OF_YARD),
    route("GET", f"{_YARD}/{{shelf}}/{{name}}", get_kept, may=May.LOOK, told=_GET),
    route("POST", f"{_YARD}/{{shelf}}/{{name}}", save, may=May.WEIGH, told=_SAVE),
]
