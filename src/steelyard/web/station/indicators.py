"""The connected instruments as data: what reads their lines, which pad each channel is, how it does."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from steelyard.capture import LinePort, Port
from steelyard.store import Shelf
from steelyard.web.station.live import LiveLoads
from steelyard.web.station.ports import Connected
from steelyard.web.station.wiring import Wiring

if TYPE_CHECKING:
    from steelyard.web.station.station import Station

_DAYS = 3  # the newest days whose pads are offered


@dataclass(frozen=True, slots=True)
class ChannelLine:
    """A channel of a connected instrument."""

    channel: Annotated[str, "As the instrument calls it."]
    pad: Annotated[str, "Which pad it is; `instrument.channel` where that is not clear."]
    placed: Annotated[bool, "Whether a day at hand or the yard has a pad of that name."]
    chosen: Annotated[bool, "Whether a person chose it."]
    given: Annotated[bool, "Whether it was chosen at the start."]
    said: Annotated[str, "How it does."]
    value: Annotated[float | None, "[kg]; null where it is not a reading."]
    steady: bool


@dataclass(frozen=True, slots=True)
class IndicatorCard:
    """A connected instrument."""

    name: Annotated[str, "As it was started."]
    kind: Annotated[Literal["lines", "registers", "simulator"], "How it is read."]
    address: Annotated[str, "Where it is."]
    pattern: Annotated[str | None, "The pattern that reads its lines; null: none yet."]
    given: Annotated[bool, "Whether the pattern was chosen at the start."]
    lines: Annotated[tuple[str, ...], "The last lines that differ, as they came; foreign characters as codes."]
    channels: tuple[ChannelLine, ...]
    skipped: Annotated[int, "Lines that were not read since it is open, because too many came together."] = 0

    @property
    def needs_pattern(self) -> bool:
        """Whether its lines are no readings yet."""
        return self.kind == "lines" and self.pattern is None


async def known_pads(station: Station) -> tuple[str, ...]:
    """The pads and platforms of the newest days and of the yard."""
    names = set(station.live.known)
    for day in await station.days(_DAYS):
        names |= set((await station.day(day.id)).day.instruments)
    names |= {kept.name for kept in await station.run(station.store.shelf, Shelf.INSTRUMENT)}
    return tuple(sorted(names))


def cards(live: LiveLoads, connected: Connected, pads: Collection[str]) -> tuple[IndicatorCard, ...]:
    """Every instrument that is read."""
    ports = [*live.ports, *(() if live.simulation is None else (live.simulation.port,))]
    return tuple(_card(port, live, connected, pads) for port in ports)


def _card(port: Port, live: LiveLoads, connected: Connected, pads: Collection[str]) -> IndicatorCard:
    given = connected.given.get(port.name, Wiring())
    wiring = connected.wirings.get(port.name, Wiring())
    names = dict.fromkeys((*port.known_channels, *live.heard.get(port.name, ())))
    channels = tuple(
        _channel(
            name, live.routes.pad(port.name, name), live, pads, chosen=name in wiring.pads, given=name in given.pads
        )
        for name in names
    )
    if not isinstance(port, LinePort):
        kind = "simulator" if live.simulation is not None and port is live.simulation.port else "registers"
        return IndicatorCard(port.name, kind, getattr(port, "place", ""), None, False, (), channels)
    pattern = None if port.pattern is None else port.pattern.name
    # a load that stands is printed over and over; once is enough
    lines = tuple(reversed(dict.fromkeys(_written(line) for line in reversed(port.recent))))
    is_given = given.pattern is not None
    return IndicatorCard(port.name, "lines", port.place, pattern, is_given, lines, channels, port.skipped)


def _channel(name: str, pad: str, live: LiveLoads, pads: Collection[str], *, chosen: bool, given: bool) -> ChannelLine:
    now = live.channels.get(pad)
    if now is None:
        return ChannelLine(name, pad, pad in pads, chosen, given, "Nothing has come yet.", None, False)
    trouble = now.sample.trouble
    said = now.settled.why if trouble is None else trouble.words
    return ChannelLine(name, pad, pad in pads, chosen, given, said, now.sample.value_kg, now.settled.steady)


def _written(line: str) -> str:
    r"""A whole line, foreign characters as ``\xNN``, so that it can be pasted."""
    return "".join(letter if " " <= letter <= "~" else f"\\x{ord(letter):02x}" for letter in line)
