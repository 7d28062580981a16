"""Live loads: samples of every instrument as they come, what has settled, and what is shown of it and how often."""

from __future__ import annotations

import asyncio
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import aclosing
from dataclasses import replace
from typing import Any

from steelyard.capture import Live, Pads, Port, Sample, Trouble, TroubleKind
from steelyard.model import Instrument, WeighDay
from steelyard.store import DayId
from steelyard.units import Dimension
from steelyard.web.station.book import OpenDay
from steelyard.web.station.events import Hub, encode
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.wiring import Routes

_EVERY = 0.15  # s between two showings: as quick as the eye reads a figure
_AGAIN = 1.0  # s after which a port that ended is read anew
_QUIET = 4.0  # s after which they are shown unchanged: a page must know silence from stillness

_SHORT = {
    TroubleKind.DROPPED: "no cable",
    TroubleKind.SILENT: "silent",
    TroubleKind.GARBLED: "garbled",
    TroubleKind.STUCK: "stuck",
    TroubleKind.OVERLOAD: "overload",
    TroubleKind.BEHIND: "behind",
    TroubleKind.UNIT: "unit",
}


class LiveLoads:
    """Reads every port for as long as the station runs. Belongs to one event loop.

    Attributes
    ----------
    channels: what each channel says by now, by its pad. ports: where they come from. sources: by pad, of which port.
    heard: by port, the channels as it calls them, each with its pad. routes: which pad each is.
    """

    def __init__(
        self,
        hub: Hub,
        ports: Iterable[Port] = (),
        *,
        simulation: Simulation | None = None,
        routes: Routes | None = None,
    ) -> None:
        self.ports = tuple(ports)
        self.routes = self._usual_routes(simulation) if routes is None else routes
        self.heard: defaultdict[str, dict[str, str]] = defaultdict(dict)
        self.channels: dict[str, Live] = {}
        self.sources: dict[str, str] = {}
        self.simulation = simulation
        self.hearers: set[Callable[[Live], None]] = set()  # told of every sample as it comes
        self._hub = hub
        self._known: dict[str, Instrument] = {}
        self._days: dict[DayId, WeighDay] = {}
        self._pads = Pads({})
        self._fresh = False
        self._stance: int | None = None
        self._tasks: list[asyncio.Task[None]] = []
        self._changing = asyncio.Lock()
        if simulation is not None:
            self.know(simulation.day.instruments)

    def _usual_routes(self, simulation: Simulation | None) -> Routes:
        ports = [*self.ports, *(() if simulation is None else (simulation.port,))]
        return Routes({port.name: port.known_channels for port in ports})

    @property
    def known(self) -> Mapping[str, Instrument]:
        """The instruments of the days that were listened to."""
        return self._known

    def start(self) -> None:
        """Begin to read."""
        loop = asyncio.get_running_loop()
        ports = [*self.ports, *(() if self.simulation is None else (self.simulation.port,))]
        self._tasks = [loop.create_task(self._read(port)) for port in ports]
        if ports:
            self._tasks.append(loop.create_task(self._show()))

    async def reopen(self, ports: Iterable[Port], routes: Routes) -> None:
        """Read from these ports instead."""
        async with self._changing:
            await self.close()
            self.ports, self.routes = tuple(ports), routes
            self.channels.clear()
            self.sources.clear()
            self.heard.clear()
            self.start()

    async def close(self) -> None:
        """Let go of every port."""
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        self._tasks = []

    def know(self, instruments: Mapping[str, Instrument]) -> None:
        """Take divisions and capacities from a day's instruments; what was watched begins anew where they differ."""
        changed = {name: item for name, item in instruments.items() if self._known.get(name) != item}
        if not changed:
            return
        self._known |= changed
        watched = any(name in self.channels for name in changed)
        if watched or not self.channels:
            divisions = {name: item.division for name, item in self._known.items() if item.division > 0.0}
            capacities = {name: item.capacity for name, item in self._known.items()}
            self._pads = Pads(divisions, capacities=capacities)
        else:
            self._pads.divisions |= {name: item.division for name, item in changed.items() if item.division > 0.0}
            self._pads.capacities |= {name: item.capacity for name, item in changed.items()}

    def believe(self, channel: str) -> bool:
        """A person has looked at a pad that seems stuck; False where there is no such channel."""
        if channel not in self.channels:
            return False
        self._pads.believe(channel)
        return True

    def first(self, opened: OpenDay) -> Sequence[bytes]:
        """The events that a new listener to a day receives first."""
        if not self._tasks:
            return ()
        self._days[opened.id] = opened.day
        self.know(opened.day.instruments)
        loads = [self._loads(opened.id)] if self.channels else []
        simulation = self.simulation if self._is_simulated(opened.day) else None
        stance = [] if simulation is None else [encode("stance", simulation.standing())]
        return [chunk for chunk in (*loads, *stance) if chunk is not None]

    async def _read(self, port: Port) -> None:
        """Read a port for good. What a port does not foresee must neither stop the others nor pass for a reading."""
        while True:
            try:
                async with aclosing(port.samples()) as samples:
                    async for sample in samples:
                        self._see(port, sample)
            except Exception as error:  # noqa: BLE001 - told in words, and tried again
                words = f"{port.name}: the driver gave up ({type(error).__name__}). Trying again."
                for channel in tuple(self.heard[port.name]) or port.known_channels:
                    trouble = Trouble(TroubleKind.DROPPED, words)
                    self._see(port, Sample(channel, None, time.monotonic(), trouble=trouble))
            await asyncio.sleep(_AGAIN)

    def _see(self, port: Port, sample: Sample) -> None:
        pad = self.routes.pad(port.name, sample.channel)
        self.heard[port.name][sample.channel] = pad
        self.channels[pad] = self._pads.see(sample if pad == sample.channel else replace(sample, channel=pad))
        self.sources[pad] = port.name
        for hear in tuple(self.hearers):
            hear(self.channels[pad])
        self._fresh = True

    async def _show(self) -> None:
        last = 0.0
        while True:
            await asyncio.sleep(_EVERY)
            now = time.monotonic()
            if self._fresh or now - last > _QUIET:
                self._fresh, last = False, now
                self._hub.show(self._loads)
                self._forget_days()
            self._show_stance()

    def _show_stance(self) -> None:
        """Tell when the simulated rig drives elsewhere."""
        if self.simulation is None or self.simulation.stance() == self._stance:
            return
        self._stance = self.simulation.stance()
        for day_id in self._hub.days:
            day = self._days.get(day_id)
            if day is not None and self._is_simulated(day):
                self._hub.tell(day_id, "stance", self.simulation.standing())

    def _is_simulated(self, day: WeighDay) -> bool:
        """Whether the rig on the virtual pads is the rig of ``day``: no other day may have its state chosen for it."""
        first = (*day.earlier_titles, day.title)[0]  # it may have been renamed
        return self.simulation is not None and first == self.simulation.day.title

    def _forget_days(self) -> None:
        for day_id in set(self._days) - set(self._hub.days):
            del self._days[day_id]

    def _loads(self, day_id: DayId) -> bytes | None:
        """The loads in the units of a day."""
        day = self._days.get(day_id)
        if day is None:
            return None
        return encode("loads", {"unit": day.units.mass, "channels": shown(day, self.channels)})


def shown(day: WeighDay, channels: Mapping[str, Live]) -> dict[str, Any]:
    """The reading of each channel, in the units of a day and in whole divisions of its instruments."""
    return {name: _channel(day, live) for name, live in sorted(channels.items())}


def _channel(day: WeighDay, live: Live) -> dict[str, Any]:
    trouble, settled = live.sample.trouble, live.settled
    value = live.sample.value_kg if not settled.steady else settled.value
    return {
        "value": None if value is None else _figure(day, live.channel, value),
        "steady": settled.steady,
        "why": settled.why,
        "drift": None if settled.drift is None else _rate(day, settled.drift),
        "scatter": None if settled.scatter is None else _rate(day, settled.scatter),
        "trouble": None if trouble is None else trouble.words,
        "short": None if trouble is None else _SHORT[trouble.kind],
        "age": round(max(0.0, time.monotonic() - live.sample.at), 1),
    }


def _figure(day: WeighDay, channel: str, value: float) -> float:
    """A load as the instrument shows it: conversion between units leaves noise that no display has."""
    instrument = day.instruments.get(channel)
    if instrument is not None and instrument.division > 0.0:
        count = value / instrument.division
        if abs(count - round(count)) < 0.01:
            value = round(count) * instrument.division
    return float(f"{day.units.show(value, Dimension.MASS):.10g}") + 0.0


def _rate(day: WeighDay, value: float) -> float:
    return float(f"{day.units.show(value, Dimension.MASS):.3g}") + 0.0
