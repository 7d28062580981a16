"""A rig on virtual pads: drives on, settles, wobbles, drives off. On the same port as a real instrument."""

from __future__ import annotations

import asyncio
import math
import time
from bisect import bisect_right
from collections.abc import AsyncGenerator, Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from steelyard.capture.port import Clock, Port
from steelyard.capture.sample import Sample, TroubleKind, trouble_sample


@dataclass(frozen=True, slots=True)
class SimulatedStance:
    """How the rig stands on the pads once: the load on each channel [kg]; channels left out stand empty.

    ``under``: the stance before anything was put on, None where nothing was.
    """

    loads: Mapping[str, float]
    label: str = ""
    under: SimulatedStance | None = None


@dataclass(frozen=True, slots=True)
class Manner:
    """How a load behaves in time. Figures are invented to look like a rig on springs; none is measured.

    Attributes
    ----------
    approach: how long a wheel takes to roll on or off [s]. sway: share of the load by which it swings at first.
    frequency: of that swing [Hz], a body on its springs. decay: time in which it falls to 1/e [s].
    wobble: standard deviation of what remains, wind and people aboard [divisions].
    stand, gap: how long the rig stands and how long the pads stay empty when it drives by itself [s].
    """

    approach: float = 3.0
    sway: float = 0.05
    frequency: float = 1.4
    decay: float = 0.8
    wobble: float = 0.2
    stand: float = 12.0
    gap: float = 3.0


@dataclass(frozen=True, slots=True)
class _Event:
    at: float
    stance: SimulatedStance | None


@dataclass(slots=True)
class SimulatedRig:
    """Stances that come and go on virtual pads; the load on a channel is a function of time and seed alone.

    Left alone, it drives through its stances in order, over and over. After ``drive_on`` or ``drive_off`` it does only
    what it is told: a test or a learner has the wheel.

    Attributes
    ----------
    stances: how it stands, in order. divisions: of each channel [kg]; every channel named here exists.
    manner: how it moves. seed: of the wobble. start: when it sets out, on the caller's clock [s].
    driven: what it was told, in order of time.
    """

    stances: Sequence[SimulatedStance]
    divisions: Mapping[str, float]
    manner: Manner = field(default_factory=Manner)
    seed: int = 1
    start: float = 0.0
    driven: list[_Event] = field(default_factory=list[_Event])

    def __post_init__(self) -> None:
        unknown = {channel for stance in self.stances for channel in stance.loads} - set(self.divisions)
        if unknown:
            raise ValueError(f"no division is given for {', '.join(sorted(unknown))}")
        bad = [name for name, division in self.divisions.items() if not division > 0]
        if bad:
            raise ValueError(f"the division of {bad[0]} is {self.divisions[bad[0]]}; it must be more than zero")

    @property
    def channels(self) -> tuple[str, ...]:
        """The pads, in the order of their divisions."""
        return tuple(self.divisions)

    @property
    def round_time(self) -> float:
        """How long one stance takes when the rig drives by itself [s]: on, standing, off, empty."""
        return 2 * self.manner.approach + self.manner.stand + self.manner.gap

    def drive_on(self, stance: int, *, at: float) -> None:
        """Drive onto the pads as stance number ``stance``, counted from 0; from another stance straight to this one."""
        self._tell(_Event(at, self.stances[stance]))

    def drive_off(self, *, at: float) -> None:
        """Leave the pads."""
        self._tell(_Event(at, None))

    def put_on(self, loads: Mapping[str, float], *, at: float) -> bool:
        """Put something on, so much more on each channel [kg], without moving the rig; False on empty pads."""
        now = self.standing(at)
        if now is None:
            return False
        if not self.driven:  # it drove by itself, and stays from now on
            self._tell(_Event(at - self.round_time, now))
        more = {name: now.loads.get(name, 0.0) + loads.get(name, 0.0) for name in {**now.loads, **loads}}
        self._tell(_Event(at, SimulatedStance(more, now.label, now if now.under is None else now.under)))
        return True

    def take_off(self, *, at: float) -> None:
        """Take off whatever was put on."""
        now = self.standing(at)
        if now is not None and now.under is not None:
            self._tell(_Event(at, now.under))

    def standing(self, at: float) -> SimulatedStance | None:
        """The stance that the rig is in or moves to; None while the pads are, or become, empty."""
        return self._last_two(at)[1].stance

    def load(self, channel: str, at: float) -> float:
        """The true load on a channel [kg]: it rolls on, swings and settles."""
        before, now = self._last_two(at)
        old, new = (_of(event.stance, channel) for event in (before, now))
        since = at - now.at
        manner = self.manner
        if since < manner.approach:
            way = since / manner.approach
            return old + (new - old) * way * way * (3 - 2 * way)
        swing = since - manner.approach
        return new + (new - old) * manner.sway * math.exp(-swing / manner.decay) * math.sin(
            2 * math.pi * manner.frequency * swing
        )

    def shown(self, channel: str, at: float) -> float:
        """Indication of the pad [kg]: the load, its wobble where something stands on it, rounded to the division."""
        division = self.divisions[channel]
        load = self.load(channel, at)
        if abs(load) > division:
            load += self.manner.wobble * division * Random(f"{self.seed}/{channel}/{at:.4f}").gauss(0.0, 1.0)  # noqa: S311
        return round(load / division) * division

    def _tell(self, event: _Event) -> None:
        if self.driven and event.at < self.driven[-1].at:
            raise ValueError(f"told to move at {event.at} s, before the last word at {self.driven[-1].at} s")
        self.driven.append(event)

    def _last_two(self, at: float) -> tuple[_Event, _Event]:
        """The event before the one in force, and the one in force."""
        nothing = _Event(self.start - self.manner.approach, None)
        if not self.driven:
            return self._by_itself(at, nothing)
        index = bisect_right(self.driven, at, key=lambda event: event.at)
        return (self.driven[index - 2] if index >= 2 else nothing, self.driven[index - 1] if index >= 1 else nothing)

    def _by_itself(self, at: float, nothing: _Event) -> tuple[_Event, _Event]:
        if not self.stances or at < self.start:
            return nothing, nothing
        number, into = divmod(at - self.start, self.round_time)
        stance = self.stances[int(number) % len(self.stances)]
        begun = at - into
        leaves = begun + self.manner.gap + self.manner.approach + self.manner.stand
        arrives = begun + self.manner.gap
        on, off = _Event(arrives, stance), _Event(leaves, None)
        if at < arrives:
            return nothing, nothing
        return (on, off) if at >= leaves else (nothing, on)


def _of(stance: SimulatedStance | None, channel: str) -> float:
    return 0.0 if stance is None else stance.loads.get(channel, 0.0)


class SimulatedPort(Port):
    """A simulated rig as an instrument: every channel in turn, ``rate`` times a second each.

    ``unplug`` and ``plug`` do to it what a loose cable does.
    """

    kind = "simulator"

    def __init__(self, name: str, rig: SimulatedRig, *, rate: float = 6.25, clock: Clock = time.monotonic) -> None:
        super().__init__(name, clock=clock)
        if not rate > 0:
            raise ValueError(f"a rate of {rate} samples a second; it must be more than zero")
        self.rig = rig
        self.rate = rate
        self._plugged = True

    @property
    def known_channels(self) -> tuple[str, ...]:
        """The virtual pads."""
        return self.rig.channels

    def unplug(self) -> None:
        """Pull the cable."""
        self._plugged = False

    def plug(self) -> None:
        """Put the cable back."""
        self._plugged = True

    async def samples(self) -> AsyncGenerator[Sample, None]:
        """Samples of all channels until it is closed."""
        silent: set[str] = set()
        while True:
            at = self.clock()
            for channel in self.rig.channels:
                if self._plugged:
                    silent.discard(channel)
                    value = self.rig.shown(channel, at)
                    yield Sample(channel, value, at, raw=f"{channel} {value:.6g} kg")
                elif channel not in silent:
                    silent.add(channel)
                    words = f"The cable of {self.name} is unplugged; trying again."
                    yield trouble_sample(channel, TroubleKind.DROPPED, words, at=at)
            await asyncio.sleep(1 / self.rate)
