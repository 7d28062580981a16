"""The interface for programs, where it speaks of instruments: live channels, what is connected, the simulated rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.questions.shape import OMIT, Also, Omit
from steelyard.store import Shelf
from steelyard.units import Dimension
from steelyard.web.api import questions
from steelyard.web.api.questions import fault
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.http.told import WRITES, Given, Parameter, Told, answered
from steelyard.web.settings import API
from steelyard.web.station.indicators import IndicatorCard, cards, known_pads
from steelyard.web.station.live import LiveLoads
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.station import Station
from steelyard.web.station.wiring import WiringError, wiring_of

_MOST_KG = 2000.0  # more than anybody steps on with


@dataclass(frozen=True, slots=True)
class ChannelShape:
    """A live channel."""

    source: Annotated[str, "The instrument that it belongs to."]
    value: Annotated[float | None, "[kg]; null where it is not a reading."]
    steady: bool
    why: str
    trouble: str | None
    raw: Annotated[str, "As it came."]


@dataclass(frozen=True, slots=True)
class ChannelsShape:
    """The live channels."""

    channels: Annotated[Mapping[str, ChannelShape], "By name."]


@dataclass(frozen=True, slots=True)
class BelievedShape:
    """The channel counts."""

    believed: bool


@dataclass(frozen=True, slots=True)
class IndicatorsShape:
    """The connected instruments."""

    indicators: tuple[IndicatorCard, ...]
    patterns: Annotated[tuple[str, ...], "Those that were taught."]
    pads: Annotated[tuple[str, ...], "Of the newest days and of the yard."]


@dataclass(frozen=True, slots=True)
class WiringShape:
    """What is chosen for an instrument. It is kept, and holds after a restart."""

    pattern: Annotated[str | Omit | None, "A taught pattern; null: that of the instrument's name."] = OMIT
    pads: Annotated[
        Mapping[str, Annotated[str, Also(pattern="^[A-Za-z0-9_-]{1,40}$")]] | Omit,
        "For channels as the instrument calls them, the pad or platform of the day.",
    ] = OMIT


@dataclass(frozen=True, slots=True)
class DriveShape:
    """What the simulated rig is to do."""

    drive: Annotated[int | Omit | None, "The draft of the simulated day, or off the pads."] = OMIT
    plugged: Annotated[bool | Omit, "Whether the cable is in."] = OMIT
    put_on: Annotated[
        str | float | Omit | None,
        "Somebody of this mass steps on, at `at`; null: all step off. It is sent without the other keys.",
    ] = OMIT
    at: Annotated[str | Omit, "The coupling that is stepped on, as in `tow/ball`."] = OMIT


@dataclass(frozen=True, slots=True)
class StanceShape:
    """How the simulated rig stands: under which wheel each of its pads is."""

    number: Annotated[int | None, "The draft that it stands as."]
    label: str
    state: str | None
    places: Annotated[Mapping[str, str], "By pad the place that stands on it."]


def _station(request: Request) -> Station:
    return request.state.station


async def get_channels(request: Request) -> Response:
    """What every live channel says, in kilograms, and the text as it came."""
    live = _station(request).live
    return answered(ChannelsShape({name: _channel(live, name) for name in sorted(live.channels)}))


def _channel(live: LiveLoads, name: str) -> ChannelShape:
    sample, settled = live.channels[name].sample, live.channels[name].settled
    trouble = None if sample.trouble is None else sample.trouble.words
    source = live.sources.get(name, "")
    return ChannelShape(source, sample.value_kg, settled.steady, settled.why, trouble, sample.raw)


async def believe(request: Request) -> Response:
    """A person has looked: a pad that seemed stuck does stand still.

    Raises
    ------
    Problem: there is no such channel.
    """
    if not _station(request).live.believe(request.path_params["name"]):
        raise Problem(404, "no_such_channel", "there is no channel of that name")
    return answered(BelievedShape(believed=True))


async def list_indicators(request: Request) -> Response:
    """Every connected instrument, as data."""
    station = _station(request)
    pads = await known_pads(station)
    patterns = tuple(kept.name for kept in await station.run(station.store.shelf, Shelf.TEACHING))
    return answered(IndicatorsShape(cards(station.live, station.connected, pads), patterns, pads))


async def put_wiring(request: Request) -> Response:
    """Choose the pattern and the pads of an instrument.

    Raises
    ------
    Problem: no such instrument, or a choice that cannot be.
    """
    name: str = request.path_params["name"]
    data: dict[str, Any] = await incoming.read_object(request)
    try:
        wiring = wiring_of(data)
    except WiringError as error:
        raise Problem(422, "bad_wiring", str(error)) from None
    station = _station(request)
    await station.wire(name, wiring, request.state.viewer.device)
    kept = station.wiring(name)
    return answered(WiringShape(kept.pattern, dict(kept.pads)))


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
    return _standing(simulation)


async def put_on(simulation: Simulation, data: Mapping[str, Any]) -> Response:
    """Somebody steps onto a coupling of the simulated rig, or everybody off it.

    Raises
    ------
    Problem: the rig has no such coupling, or does not stand on its pads.
    """
    questions.only(data, "put_on", "at")
    if data["put_on"] is None:
        simulation.take_off()
        return _standing(simulation)
    mass = questions.quantity(simulation.day, data["put_on"], Dimension.MASS, "put_on").value
    vehicle, _, coupling = questions.text(data, "at").partition("/")
    if vehicle not in simulation.day.vehicles or coupling not in simulation.day.vehicles[vehicle].couplings:
        raise fault("at", f"{vehicle}/{coupling}"[:60], "is no coupling of the simulated rig, as in tow/ball")
    if not 0.0 < mass <= _MOST_KG:
        raise fault("put_on", data["put_on"], "is more than anybody steps on with, or nothing")
    if not simulation.put_on(mass, vehicle, coupling):
        raise Problem(409, "not_on_the_pads", f"{vehicle} does not stand on the pads now")
    return _standing(simulation)


def _standing(simulation: Simulation) -> Response:
    return answered(StanceShape(**simulation.standing()))


_LIST_CHANNELS = Told(
    "listChannels",
    "Every live channel: its value in kilograms, whether it is steady, and the text as it came.",
    {200: Given("The channels by name.", ChannelsShape)},
)
_BELIEVE = Told(
    "believe",
    "Say that a pad that seemed stuck does stand still.",
    {200: Given("It counts.", BelievedShape)},
    refuses=(404,),
    parameters=(Parameter("name", "The channel.", where="path"),),
)
_LIST_INDICATORS = Told(
    "listIndicators",
    "Every connected instrument: what reads its lines, which pads its channels are, its last lines.",
    {200: Given("The instruments in the order in which they were started.", IndicatorsShape)},
)
_WIRE = Told(
    "wireIndicator",
    "Choose which taught pattern reads an instrument and which pads its channels are.",
    {200: Given("What counts now.", WiringShape)},
    takes=WiringShape,
    refuses=(404, *WRITES),
    parameters=(Parameter("name", "The instrument.", where="path"),),
)
_DRIVE = Told(
    "drive",
    "Drive the simulated rig, or pull its cable; only with `--simulate`.",
    {200: Given("How it stands, or is about to.", StanceShape)},
    takes=DriveShape,
    refuses=(400, 404, 409, 413, 422),
)

routes: list[BaseRoute] = [
    route("GET", f"{API}/channels", get_channels, may=May.LOOK, told=_LIST_CHANNELS),
    route("POST", f"{API}/channels/{{name}}/believe", believe, may=May.WEIGH, told=_BELIEVE),
    route("GET", f"{API}/indicators", list_indicators, may=May.LOOK, told=_LIST_INDICATORS),
    route("PUT", f"{API}/indicators/{{name}}", put_wiring, may=May.WEIGH, told=_WIRE),
    route("POST", f"{API}/simulation", drive, may=May.WEIGH, told=_DRIVE),
]
