"""The interface for programs, where it speaks of instruments: live channels, what is connected, the simulated rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.model import WeighDay
from steelyard.names import meant
from steelyard.questions.form import Reading, refusal
from steelyard.questions.kinds import Amount, Flag, OrNull, Text, Whole
from steelyard.questions.shape import OMIT, Also, Omit
from steelyard.store import Shelf
from steelyard.units import Dimension, Quantity
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.http.told import WRITES, Given, Parameter, Told, answered
from steelyard.web.settings import API
from steelyard.web.station.indicators import IndicatorCard, cards, known_pads
from steelyard.web.station.live import LiveLoads
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.station import Station
from steelyard.web.station.wiring import Wiring

_MOST_DRAFTS = 10_000


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
class ChosenWiringShape:
    """The choices for an instrument that count now."""

    pattern: Annotated[str | None, "A taught pattern; null: that of the instrument's name."]
    pads: Annotated[
        Mapping[str, Annotated[str, Also(pattern="^[A-Za-z0-9_-]{1,40}$")]],
        "For channels as the instrument calls them, the pad or platform of the day.",
    ]


@dataclass(frozen=True, slots=True)
class Drive:
    """An order to the simulated rig."""

    drive: Annotated[
        int | Omit | None, OrNull(Whole("The draft of the simulated day; null: off the pads.", 1, _MOST_DRAFTS))
    ] = OMIT
    plugged: Annotated[bool | None, Flag("Whether the cable is in.")] = None
    put_on: Annotated[
        Quantity | Omit | None,
        OrNull(
            Amount(
                "Somebody of this mass steps on, at `at`; null: all step off. Sent without `drive` and `plugged`.",
                Dimension.MASS,
                positive=True,
                most=(2000.0, "is more than a person weighs"),
            )
        ),
    ] = OMIT
    at: Annotated[str | None, Text("The coupling that is stepped on, as in `tow/ball`.")] = None

    def check(self, reading: Reading) -> None:
        """See that nobody steps on a rig that drives, and that there is such a coupling."""
        if self.put_on is OMIT:
            return
        if self.drive is not OMIT or self.plugged is not None:
            reading.fault("put_on", "", "stands beside drive or plugged; send it alone")
        if self.put_on is None:
            return
        vehicle, coupling = self.place
        if vehicle not in reading.day.vehicles or coupling not in reading.day.vehicles[vehicle].couplings:
            there = [f"{item.id}/{name}" for item in reading.day.vehicles.values() for name in item.couplings]
            hint = meant(self.at or "", there)
            reading.fault("at", self.at or "", f"is not a coupling of the simulated rig; {hint}")

    @property
    def place(self) -> tuple[str, str]:
        """The vehicle and the coupling that is stepped on."""
        vehicle, _, coupling = (self.at or "").partition("/")
        return vehicle, coupling


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
    """The reading of every live channel, in kilograms, and the text as it came."""
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
        raise Problem(404, "no_such_channel", f"there is no channel {request.path_params['name'][:40]!r}")
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
    RefusalError: no such instrument, or a choice that is not possible. DayFileError: with every fault of the body.
    """
    name: str = request.path_params["name"]
    station, wiring = _station(request), await incoming.read_body(request, Wiring, WeighDay())
    await station.wire(name, wiring, request.state.viewer.device)
    kept = station.wiring(name)
    return answered(ChosenWiringShape(kept.pattern, dict(kept.pads)))


async def drive(request: Request) -> Response:
    """Drive the simulated rig, or pull its cable.

    Raises
    ------
    Problem: there is none. DayFileError: it cannot do that.
    """
    simulation = _station(request).live.simulation
    if simulation is None:
        raise Problem(404, "not_simulated", "there is no simulated rig here; start the station with --simulate")
    asked = await incoming.read_body(request, Drive, simulation.day)
    if asked.put_on is not OMIT:
        return _put_on(simulation, asked)
    if asked.drive is None:
        simulation.drive_off()
    elif asked.drive is not OMIT:
        if asked.drive > len(simulation.drafts):
            raise refusal(
                "drive", asked.drive, f"is not the number of a draft; the simulated day has {len(simulation.drafts)}"
            )
        simulation.drive_on(asked.drive)
    if asked.plugged is not None:
        simulation.plug(plugged=asked.plugged)
    return _standing(simulation)


def _put_on(simulation: Simulation, asked: Drive) -> Response:
    """Somebody steps onto a coupling of the simulated rig, or everybody off it.

    Raises
    ------
    Problem: the rig does not stand on its pads.
    """
    if not isinstance(asked.put_on, Quantity):
        simulation.take_off()
    elif not simulation.put_on(asked.put_on.value, *asked.place):
        raise Problem(409, "not_on_the_pads", f"{asked.place[0]} does not stand on the pads now")
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
    {200: Given("What counts now.", ChosenWiringShape)},
    takes=Wiring,
    refuses=(404, *WRITES),
    parameters=(Parameter("name", "The instrument.", where="path"),),
)
_DRIVE = Told(
    "drive",
    "Drive the simulated rig, or pull its cable; only with `--simulate`.",
    {200: Given("How it stands, or is about to.", StanceShape)},
    takes=Drive,
    refuses=(400, 404, 409, 413, 422),
)

routes: list[BaseRoute] = [
    route("GET", f"{API}/channels", get_channels, may=May.LOOK, told=_LIST_CHANNELS),
    route("POST", f"{API}/channels/{{name}}/believe", believe, may=May.WEIGH, told=_BELIEVE),
    route("GET", f"{API}/indicators", list_indicators, may=May.LOOK, told=_LIST_INDICATORS),
    route("PUT", f"{API}/indicators/{{name}}", put_wiring, may=May.WEIGH, told=_WIRE),
    route("POST", f"{API}/simulation", drive, may=May.WEIGH, told=_DRIVE),
]
