"""The question about a log of growing load, and the shape in which the answer is published."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

import numpy as np

from steelyard.dayfile import read_log
from steelyard.findings import STANDING
from steelyard.learning import LoadPlace
from steelyard.loading import Scenario, refuse_off_vehicle
from steelyard.model import Cargo, Role, WeighDay
from steelyard.names import meant
from steelyard.questions.entry import Entry
from steelyard.questions.figures import scaled
from steelyard.questions.form import Kind, Reading
from steelyard.questions.kinds import MOST, Amount, StateName, Text, items, quantity, table
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.questions.sweep.learned import ExpectedByStatics, Learned, LearnedKind, SweepAnswer, learn
from steelyard.units import Dimension, Quantity, UnitSystem, pair_of

_LARGE = 1e15  # beyond every reading

HEIGHT_DIVISION = 0.001
"""Step [m] in which heights were read where nobody says."""


@dataclass(frozen=True, slots=True)
class LogText(Kind):
    """A log as comma-separated text, or the bytes of its file."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> bytes:
        """Its bytes."""
        if isinstance(value, bytes):
            return value
        if not isinstance(value, str):
            reading.fault(path, value, "is not a text; send the log as comma-separated text")
            return b""
        return value.encode("utf-8", "replace")

    def schema(self) -> dict[str, Any]:
        """A string."""
        return {"type": "string"}


@dataclass(frozen=True, slots=True)
class LogRows(Kind):
    """A log row by row, each a table with the names of the first row."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> bytes:
        """The same log as comma-separated text."""
        before = len(reading.faults)
        rows = [table(reading, row, f"{path}[{number}]") for number, row in enumerate(items(reading, value, path), 1)]
        if not rows:
            reading.fault(path, "", "is empty; a sweep takes three rows or more")
            return b""
        names = list(rows[0])
        for number, row in enumerate(rows, 1):
            if set(row) != set(names):
                reading.fault(f"{path}[{number}]", "", f"has other names than the first row: {', '.join(names)}"[:400])
        if not reading.sound_since(before):
            return b""
        at = ((f"{path}[{number}].{name}", row[name]) for number, row in enumerate(rows, 1) for name in names)
        cells = [_cell(reading, item, place) for place, item in at]
        lines = (cells[start : start + len(names)] for start in range(0, len(cells), max(len(names), 1)))
        written = io.StringIO()
        csv.writer(written, lineterminator="\n").writerows([names, *lines])
        return written.getvalue().encode("utf-8", "replace")

    def schema(self) -> dict[str, Any]:
        """A list of objects."""
        return {"type": "array", "items": {"type": "object"}, "maxItems": MOST}


def _cell(reading: Reading, value: Any, path: str) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > _LARGE:
        reading.fault(path, value, "is not a number; write what the instrument showed")
        return ""
    return f"{value:.12g}"


@dataclass(frozen=True, slots=True)
class PadPlaces(Kind):
    """The instrument under each place: a table of instruments by place, or a list of texts as in ``tow/1L=p1``."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> dict[str, str]:
        """The instruments by place."""
        found: dict[str, str] = {}
        if isinstance(value, list | tuple):
            for text in items(reading, value, path):
                place, sign, name = str(text).rpartition("=")
                if not sign or not place.strip() or not name.strip():
                    reading.fault(path, text, "is not a place and an instrument; write them as in tow/1L=p1")
                found[place.strip()] = name.strip()
            return found
        for place, name in table(reading, value, path).items():
            if not isinstance(name, str):
                reading.fault(
                    f"{path}.{place}", name, 'is not the name of an instrument; write a text, as in {"tow/1L": "p1"}'
                )
            found[place] = str(name)
        return found

    def schema(self) -> dict[str, Any]:
        """An object with names of instruments."""
        return {"type": "object", "additionalProperties": {"type": "string"}}


@dataclass(frozen=True, slots=True)
class SweepQuestion:
    """A log of growing load, and what is said of it."""

    state: Annotated[str, StateName("The state that stood on the pads.")]
    csv: Annotated[bytes | None, LogText("The log as text.")] = None
    rows: Annotated[
        bytes | None,
        LogRows("Or the log row by row, each with `t` and a value for each place, named as in a CSV log."),
    ] = None
    name: Annotated[str, Text("What the log is called in messages.")] = "log.csv"
    pads: Annotated[
        Mapping[str, str] | None,
        PadPlaces('What stands under each place, as in `{"tow/1L": "p1"}`; else as the drafts of the day say.'),
    ] = None
    on: Annotated[str | None, Text("The vehicle that was loaded; else the towing one.")] = None
    at: Annotated[
        str | None, Text('Where the load was put: a coupling of it, or two lengths as in `"222 in, 0 in"`.')
    ] = None
    height_division: Annotated[
        Quantity | None,
        Amount("Step in which heights were read; 1 mm where left out.", Dimension.LENGTH, positive=True, filed=True),
    ] = None

    def check(self, reading: Reading) -> None:
        """See that there is one log, the vehicle is in the state, and the load on a coupling or at a place."""
        if (self.csv is None) == (self.rows is None):
            reading.fault("rows", "", "a log is given once, as rows or as csv")
        here = reading.day.states[self.state].vehicles
        if self.on is not None and self.on not in here:
            reading.fault("on", self.on, f"is not in state {self.state!r}; {meant(self.on, here)}")
            return
        self.load(reading)

    @property
    def log(self) -> bytes:
        """The log as comma-separated text."""
        return self.csv or self.rows or b""

    def vehicle(self, day: WeighDay) -> str:
        """The vehicle that is loaded: as said, else the towing one of the state."""
        here = day.states[self.state].vehicles
        return self.on or next((name for name in here if day.vehicles[name].role is Role.TOWING), here[0])

    def load(self, reading: Reading) -> LoadPlace | None:
        """Where the load was put; None where nobody says. What is wrong with it is noted in ``reading``."""
        if self.at is None:
            return None
        vehicle, text = self.vehicle(reading.day), self.at.strip()
        couplings = reading.day.vehicles[vehicle].couplings
        if text in couplings:
            return LoadPlace(vehicle, couplings[text].x, Quantity(0.0), text)
        parts = pair_of(text)
        if parts is None:
            known = f"a coupling of {vehicle} ({', '.join(couplings)}), or " if couplings else ""
            message = f'is not a place; write {known}two lengths, rearward and to the left: "222 in, 0 in"'
            reading.fault("at", self.at, message)
            return None
        x, y = (quantity(reading, part.strip(), Dimension.LENGTH, "at") for part in parts)
        return None if x is None or y is None else LoadPlace(vehicle, x, y)


@dataclass(frozen=True, slots=True)
class SweptLoadShape:
    """Where the load stood, in the unit of lengths."""

    x: Annotated[float, "Rearward."]
    y: Annotated[float, "To the left."]
    coupling: Annotated[str | None, "The coupling that it was put on, if any."]
    given: Annotated[bool, "Whether somebody said so; otherwise the wheels tell it."]


@dataclass(frozen=True, slots=True)
class SweptColumnShape:
    """One column of the log."""

    place: str
    what: Literal["load", "height"]
    unit: str
    low: Annotated[float, "The least that was read."]
    high: Annotated[float, "The most that was read."]
    flicker: Annotated[float, "Standard deviation while the load stood still."]


@dataclass(frozen=True, slots=True)
class FromStaticsShape:
    """The value that statics expects, in the unit of the figure beside it."""

    value: float
    u: Annotated[float, "Standard uncertainty."]
    low: Annotated[float, "Lower end of the 95 % coverage interval."]
    high: Annotated[float, "Upper end of the 95 % coverage interval."]


@dataclass(frozen=True, slots=True)
class LearnedShape:
    """One figure that the log teaches, all null where it does not determine it."""

    id: str
    kind: LearnedKind
    label: str
    of: Annotated[str, "What moves."]
    per: Annotated[str | None, "For each unit of what; null where the kind says it."]
    value: float | None
    u: Annotated[float | None, "Standard uncertainty."]
    low: Annotated[float | None, "Lower end of the 95 % coverage interval."]
    high: Annotated[float | None, "Upper end of the 95 % coverage interval."]
    unit: str
    determined: bool
    reason: Annotated[str | None, "Why it is not determined."]
    expected: FromStaticsShape | None


@dataclass(frozen=True, slots=True)
class SweepShape:
    """The quantities of a rig that a log of growing load teaches."""

    format: Literal[1]
    file: str
    log: Annotated[str, "Name of the log."]
    title: str
    units: Units
    state: str
    vehicle: Annotated[str, "The vehicle that was loaded."]
    samples: Annotated[int, "Rows of the log."]
    plateaus: Annotated[int, "Loads at which it stood still."]
    load: Annotated[SweptLoadShape | None, "Null where nobody said and the wheels do not tell."]
    places: tuple[SweptColumnShape, ...]
    learned: tuple[LearnedShape, ...]
    cautions: tuple[str, ...]


def sweep(day: WeighDay, question: SweepQuestion, units: UnitSystem | None = None) -> SweepAnswer:
    """The quantities that a log teaches, shown in ``units``; the log and the question are in those of the day.

    Raises
    ------
    SweepError: the log teaches nothing. ScenarioError: the load would stand off its vehicle. DayFileError: the log has
        faults.
    """
    vehicle, load = question.vehicle(day), question.load(Reading(day))
    if load is not None and not load.coupling:
        cargo = Cargo("the load", vehicle, mass=Quantity(1.0), x=load.x, y=load.y)
        refuse_off_vehicle(day, Scenario(question.state, add=(cargo,)))
    log = read_log(question.log, question.name, day, day.states[question.state], question.pads or {})
    step = HEIGHT_DIVISION if question.height_division is None else question.height_division.value
    shown = day if units is None else replace(day, units=units)
    return learn(shown, question.state, log, vehicle=vehicle, load=load, height_division=step)


def _shaped(answer: SweepAnswer, file: str) -> SweepShape:
    units, load = answer.day.units, answer.load
    return SweepShape(
        format=FORMAT,
        file=file,
        log=answer.file,
        title=answer.day.title,
        units=units_of(answer.day),
        state=answer.state,
        vehicle=answer.vehicle,
        samples=answer.samples,
        plateaus=len(answer.sweep.doubt.points.counts),
        load=None
        if load is None
        else SweptLoadShape(
            x=units.show(load.x.value, Dimension.LENGTH),
            y=units.show(load.y.value, Dimension.LENGTH),
            coupling=load.coupling or None,
            given=answer.given,
        ),
        places=tuple(_columns(answer)),
        learned=tuple(learned_shape(item, units) for item in answer.learned),
        cautions=(*answer.cautions, *STANDING),
    )


def _columns(answer: SweepAnswer) -> Iterator[SweptColumnShape]:
    channels, doubt, units = answer.sweep.channels, answer.sweep.doubt, answer.day.units
    for at, name in enumerate(channels.names):
        is_load = bool(channels.loads[at])
        factor = units.factor(Dimension.MASS if is_load else Dimension.LENGTH)
        values = channels.values[:, at] / factor
        yield SweptColumnShape(
            place=name,
            what="load" if is_load else "height",
            unit=units.mass if is_load else units.length,
            low=float(values.min()),
            high=float(values.max()),
            flicker=float(np.sqrt(doubt.flicker[at])) / factor,
        )


def learned_shape(item: Learned, units: UnitSystem) -> LearnedShape:
    """One figure in the units of the reader."""
    factor = units.factor(item.dimension)
    value, u, low, high = (scaled(part, factor) for part in (item.value, item.u, item.low, item.high))
    return LearnedShape(
        id=item.id,
        kind=item.kind,
        label=item.label,
        of=item.of,
        per=item.per or None,
        value=value,
        u=u,
        low=low,
        high=high,
        unit=units.symbol(item.dimension),
        determined=item.determined,
        reason=item.reason or None,
        expected=None if item.expected is None else _expected(item.expected, factor),
    )


def _expected(expected: ExpectedByStatics, factor: float) -> FromStaticsShape:
    return FromStaticsShape(*(part / factor for part in (expected.value, expected.u, expected.low, expected.high)))


SWEEP = Entry(SweepQuestion, sweep, SweepShape, _shaped, slow=True, of_day=True)
