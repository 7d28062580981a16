"""Recording a log of growing load: the samples of every placed channel, row by row, or rows that a person types.

It runs on the station, not in a page: pages come and go. What is no reading becomes no row, and the reason is said;
a rig that leaves its pads ends it, for then the rows before and after are not of one placement.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Any

from steelyard.capture import Live
from steelyard.model import Instrument, WeighDay
from steelyard.questions.shape import Also
from steelyard.units import Dimension, UnitSystem

MOST_ROWS = 20_000
"""Rows held; where more come, every second one is let go and every second one taken from then on."""

FEWEST_ROWS = 3
"""Rows that a log takes at the least."""

_LOADED, _EMPTY = 50.0, 25.0  # divisions: a wheel stands on it; nothing stands on it any more
_LEAVING = 10.0  # s that a rig may take to leave its pads
_OFF_DIVISION = 1e-4  # of a division
_PART = 1e-9  # of a capacity
_MOST_TYPED = 100  # typed rows that are shown again


class Take(StrEnum):
    """Which samples become rows."""

    STEADY = "steady"  # only while every pad stands still: load goes on step by step
    EVERY = "every"  # load comes slowly and without a pause
    HAND = "hand"  # what a person types


@dataclass(frozen=True, slots=True)
class PlaceLoadShape:
    """The load of one place in the first row, the last one, and now."""

    place: str
    pad: Annotated[str, "The instrument under it."]
    first: float | None
    last: float | None
    now: float | None


@dataclass(frozen=True, slots=True)
class StandingShape:
    """How a recording stands."""

    state: Annotated[str, "The state of the rig on the pads."]
    take: Annotated[Take, "Which samples become rows."]
    unit: Annotated[str, "Of all loads."]
    running: Annotated[bool, "Whether rows may still come."]
    rows: Annotated[int, "How many there are.", Also(minimum=0)]
    skipped: Annotated[int, "Samples that were no reading.", Also(minimum=0)]
    thinned: Annotated[int, "Every so many samples are taken; 1: all.", Also(minimum=0)]
    seconds: Annotated[float, "Since it began."]
    steady: Annotated[bool, "Whether all pads stand still."]
    trouble: Annotated[str, "Why no row is taken now; empty where one is."]
    stopped: Annotated[str, "Why it ended by itself."]
    device: Annotated[str, "Who began it."]
    places: tuple[PlaceLoadShape, ...]
    typed: Annotated[tuple[tuple[float, ...], ...], "The last rows that were typed."]


@dataclass(slots=True)
class Recording:
    """One log in the making. Values are in the day's mass unit, as they will stand in the log.

    Attributes
    ----------
    state: what stands on the pads. pads: by place, what stands there. rows: time since ``begun`` [s], then a value for
    each place. trouble: why no row is taken now; empty where one is. stopped: why it ended by itself.
    skipped: samples that were no reading.
    """

    state: str
    pads: Mapping[str, str]
    take: Take
    units: UnitSystem
    instruments: Mapping[str, Instrument]
    key: str
    device: str
    clock: Callable[[], float] = time.monotonic
    rows: list[tuple[float, ...]] = field(default_factory=list[tuple[float, ...]])
    trouble: str = ""
    stopped: str = ""
    skipped: int = 0
    begun: float = 0.0
    _now: dict[str, Live] = field(default_factory=dict[str, Live])
    _fresh: set[str] = field(default_factory=set[str])
    _loaded: set[str] = field(default_factory=set[str])
    _stood: float = 0.0  # when all pads last stood still
    _stride: int = 1
    _passed: int = 0

    def __post_init__(self) -> None:
        self.begun = self.clock()

    @property
    def running(self) -> bool:
        """Whether rows may still come."""
        return not self.stopped

    def hear(self, live: Live) -> None:
        """One sample of a channel, whoever it belongs to."""
        if self.take is Take.HAND or self.stopped or live.channel not in self.pads.values():
            return
        self._now[live.channel] = live
        self._fresh.add(live.channel)
        wrong = self._wrong(live)
        if wrong:
            self.trouble, self.skipped = wrong, self.skipped + 1
            self._fresh.clear()  # a row is of one moment: none is put together around a gap
            return
        self._watch(live)
        if self.stopped or len(self._fresh) < len(self.pads):
            return
        self._fresh.clear()
        if self.steady():
            self._stood = self.clock() - self.begun
        waits = [name for name in self.pads.values() if not self._now[name].settled.steady]
        if self.take is Take.STEADY and waits:
            self.trouble = ""
            return
        self.trouble = ""
        self._add([self._now[name].sample.value_kg or 0.0 for name in self.pads.values()])

    def type_in(self, readings: Mapping[str, float]) -> None:
        """A row as a person read it [kg], one reading for each place.

        Raises
        ------
        ValueError: a place is missing or too many, or no such pad shows that.
        """
        strange = [place for place in readings if place not in self.pads]
        missing = [place for place in self.pads if place not in readings]
        if strange or missing:
            what = f"{strange[0]} is not a place of it" if strange else f"{missing[0]} is missing"
            raise ValueError(f"a row has one reading for each of {', '.join(self.pads)}; {what}")
        if len(self.rows) >= MOST_ROWS:
            raise ValueError(f"a log typed by hand has at most {MOST_ROWS:,} rows")
        for place, value in readings.items():
            wrong = self._cannot_show(self.pads[place], value)
            if wrong:
                raise ValueError(f"{place}: {wrong}")
        self._add([readings[place] for place in self.pads])

    def take_back(self) -> None:
        """Let the last row go."""
        self.rows.pop()

    def steady(self) -> bool:
        """Whether every pad stands still now."""
        return all(name in self._now and self._now[name].settled.steady for name in self.pads.values())

    def text(self) -> str:
        """The log, as ``steelyard sweep`` reads it; comments say what stood where."""
        pads = " ".join(f"--pad {place}={name}" for place, name in self.pads.items())
        places = ",".join(f'"{place}"' if "," in place else place for place in self.pads)
        lines = [f"# state {self.state}, in {self.units.mass}; {pads}", f"t,{places}"]
        lines += [",".join(f"{value:.10g}" for value in row) for row in self.rows]
        return "\n".join(lines) + "\n"

    def about(self) -> dict[str, Any]:
        """The values that are kept with the log."""
        return {"state": self.state, "pads": dict(self.pads), "take": str(self.take), "rows": len(self.rows)}

    def standing(self) -> StandingShape:
        """How it stands, for whoever watches."""
        return StandingShape(
            state=self.state,
            take=self.take,
            unit=self.units.mass,
            running=self.running,
            rows=len(self.rows),
            skipped=self.skipped,
            thinned=self._stride,
            seconds=round(self.clock() - self.begun, 1),
            steady=self.take is Take.HAND or self.steady(),
            trouble=self.trouble,
            stopped=self.stopped,
            device=self.device,
            places=tuple(self._at(at, place, name) for at, (place, name) in enumerate(self.pads.items(), 1)),
            typed=tuple(row[1:] for row in self.rows[-_MOST_TYPED:]) if self.take is Take.HAND else (),
        )

    def _at(self, column: int, place: str, name: str) -> PlaceLoadShape:
        first, last = (self.rows[0][column], self.rows[-1][column]) if self.rows else (None, None)
        return PlaceLoadShape(place, name, first, last, self._value(name))

    def _value(self, name: str) -> float | None:
        live = self._now.get(name)
        kilograms = None if live is None else live.sample.value_kg
        return None if kilograms is None else self._figure(name, kilograms)

    def _figure(self, name: str, kilograms: float) -> float:
        """In the day's unit and whole divisions: conversion leaves noise that no display has."""
        division = self.instruments[name].division
        value = round(kilograms / division) * division if division > 0.0 else kilograms
        return float(f"{self.units.show(value, Dimension.MASS):.10g}") + 0.0

    def _add(self, kilograms: list[float]) -> None:
        self._passed += 1
        if self._passed % self._stride:
            return
        values = [self._figure(name, value) for name, value in zip(self.pads.values(), kilograms, strict=True)]
        self.rows.append((round(self.clock() - self.begun, 2), *values))
        if len(self.rows) >= MOST_ROWS and self.take is not Take.HAND:
            del self.rows[1::2]
            self._stride *= 2

    def _wrong(self, live: Live) -> str:
        """Why a sample is no reading; empty where it is one."""
        if live.sample.trouble is not None or live.sample.value_kg is None:
            return "" if live.sample.trouble is None else f"{live.channel}: {live.sample.trouble.words}"
        return self._cannot_show(live.channel, live.sample.value_kg)

    def _cannot_show(self, name: str, kilograms: float) -> str:
        pad = self.instruments[name]
        shown, unit = f"{self.units.show(kilograms, Dimension.MASS):.6g}", self.units.mass
        if kilograms < 0.0:
            return f"{name} shows {shown} {unit}, below zero; zero the pad with nothing on it."
        if kilograms >= pad.capacity * (1.0 - _PART):
            most = f"{self.units.show(pad.capacity, Dimension.MASS):.6g} {unit}"
            return f"{name} shows {shown} {unit}, its capacity of {most} or more. Take load off at once."
        if pad.division > 0.0 and abs(kilograms / pad.division - round(kilograms / pad.division)) > _OFF_DIVISION:
            step = f"{self.units.show(pad.division, Dimension.MASS):.6g} {unit}"
            return f"{name} shows {shown} {unit}, no multiple of its division of {step}."
        return ""

    def _watch(self, live: Live) -> None:
        """End where a wheel has left its pad: what comes later is another placement."""
        name = live.channel
        divisions = abs(live.sample.value_kg or 0.0) / (self.instruments[name].division or 1.0)
        if divisions > _LOADED:
            self._loaded.add(name)
        elif divisions < _EMPTY and name in self._loaded:
            self.stopped = (
                f"{name} went empty: the rig moved, or a wheel lifted. The rows before it are of one placement and "
                "count; begin anew for the next."
            )
            # while it rolled off, every sample was of another placement already
            since = max(self._stood, self.clock() - self.begun - _LEAVING)
            self.rows = [row for row in self.rows if row[0] <= since]


def placed(day: WeighDay, state: str, given: Mapping[str, str]) -> dict[str, str]:
    """The pad under each place, as ``given`` or else as in the last draft of the state.

    Raises
    ------
    ValueError: fewer than two places have a pad; a pad is not one of the day's, or stands twice.
    """
    pads = dict(given) or last_pads(day, state)
    if len(pads) < 2:
        raise ValueError("say which pad stands under at least two places; there is no draft of the state that does")
    for place, name in pads.items():
        if name not in day.instruments:
            raise ValueError(f"{place}: there is no instrument {name!r}; there are {', '.join(day.instruments)}")
    twice = [name for name in pads.values() if list(pads.values()).count(name) > 1]
    if twice:
        raise ValueError(f"{twice[0]} stands under two places; each pad stands under one")
    return pads


def last_pads(day: WeighDay, state: str) -> dict[str, str]:
    """By place, what the last draft of a state had there; empty where there is no draft."""
    draft = next((one for one in reversed(day.drafts) if one.state == state and one.readings), None)
    return {} if draft is None else {reading.place.text: reading.instrument for reading in draft.readings}
