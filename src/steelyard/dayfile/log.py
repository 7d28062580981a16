"""Reads the log of a sweep: comma-separated rows of a time and what each place showed, against a weigh day."""

from __future__ import annotations

import csv
import datetime
import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from steelyard.classes import dataclass
from steelyard.dayfile.contents import Limit, contents, refuse_large
from steelyard.dayfile.fault import DayFileError, Fault, listed, show_line, suggest
from steelyard.model import Instrument, Place, PlaceError, State, WeighDay, parse_place
from steelyard.units import Dimension, EitherNumberError, Marks, NumberError, UnitSystem, read_number

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LARGEST_LOG = 200_000_000
"""The most bytes of a log."""

LOG = Limit("a log", LARGEST_LOG)

TIME = "t"
HEIGHT = " height"

_OFF_DIVISION = 1e-6
_MOST_FAULTS = 10
_TALLEST = 10.0  # metres


@dataclass(frozen=True)
class SweepLog:
    """A log as it was read, in SI units.

    Attributes
    ----------
    times: seconds, never backward, shape (n,).
    places: of the columns that are loads. instruments: under each of them. loads: [kg], shape (n, m).
    height_places: of the columns that are heights. heights: [m], up is positive, shape (n, h).
    began: the first time where it is written as a moment; ``times`` are then since 1970, as if in UTC without a zone.
    """

    file: str
    times: Array
    places: tuple[Place, ...]
    instruments: tuple[str, ...]
    loads: Array
    height_places: tuple[Place, ...]
    heights: Array
    began: datetime.datetime | None = None


@dataclass(frozen=True)
class _Columns:
    """Which column of the log holds which quantity."""

    names: tuple[str, ...]
    time: int
    loads: dict[int, tuple[Place, Instrument]]
    heights: dict[int, Place]


def read_log(data: bytes, file: str, day: WeighDay, state: State, pads: Mapping[str, str]) -> SweepLog:
    """The log of a sweep of ``state``.

    The first row names the columns: ``t`` in seconds or as moments, places as in a draft's readings, and
    ``PLACE height`` for the height of the body there. Loads and heights are in the day's units. Lines that are empty or
    begin with ``#`` do not count. Semicolons or tabs may part the cells; commas then begin fractions.

    Parameters
    ----------
    data: the bytes of the log. file: its name for messages. pads: instruments by place; for the rest, those that the
        day's drafts of the state put there.

    Raises
    ------
    DayFileError: it is no such log; each fault with its line and column.
    """
    text = _text(data, file)
    dialect = _dialect_of(text)
    head = next(_rows(text, dialect), None)
    if head is None:
        raise _refusal(file, 'is empty; its first row names the columns, as in t,"tow/1L","tow/1R"')
    columns = _Header(file, head, day, state, pads).columns()
    table = _fast(text, len(columns.names), dialect)
    if table is None:
        table = _slowly(text, file, columns, dialect)
    if not len(table):
        raise _refusal(file, "has no sample under its row of names; a sweep takes three or more")
    return _checked(text, file, columns, table, day.units, dialect)


def log_bytes(path: str) -> bytes:
    """The bytes of a log by its name.

    Raises
    ------
    DayFileError: it cannot be read.
    """
    return contents(path, LOG)


def _refusal(file: str, message: str) -> DayFileError:
    return DayFileError(file, (Fault(None, "", "", message),))


def _text(data: bytes, file: str) -> str:
    refuse_large(len(data), file, LOG)
    if b"\x00" in data:
        line = data.count(b"\n", 0, data.index(b"\x00")) + 1
        message = "has a NUL byte, as no text has; save the log as comma-separated text in UTF-8"
        raise DayFileError(file, (Fault(line, "", "", message),))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = f"the byte 0x{data[error.start]:02X} is not UTF-8; save the log as comma-separated text in UTF-8"
        raise DayFileError(file, (Fault(line, "", "", message),)) from None


@dataclass(frozen=True, slots=True)
class _Dialect:
    """How a log is written: what parts its cells, and what its points and commas mean."""

    separator: str
    marks: Marks


def _dialect_of(text: str) -> _Dialect:
    """Semicolons or tabs in the row of names part the cells; where they do, a comma begins a fraction."""
    lines = (line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#"))
    head = next(lines, "")
    separator = next((mark for mark in ";\t" if mark in head), ",")
    comma = separator != "," and "," in text.partition(head)[2]
    return _Dialect(separator, Marks.COMMA if comma else Marks.WRITTEN)


def _rows(text: str, dialect: _Dialect) -> Iterator[tuple[int, list[str]]]:
    """The rows that count, each with its line."""
    reader = csv.reader(text.splitlines(), delimiter=dialect.separator, skipinitialspace=dialect.separator != "\t")
    try:
        for row in reader:
            if any(cell.strip() for cell in row) and not row[0].lstrip().startswith("#"):
                yield reader.line_num, [cell.strip() for cell in row]
    except csv.Error:  # a cell of endless length: what stands there is no number either
        yield reader.line_num, [""]


class _Header:
    """The row of names, held against the day."""

    def __init__(
        self, file: str, head: tuple[int, list[str]], day: WeighDay, state: State, pads: Mapping[str, str]
    ) -> None:
        self._file, self._day, self._state, self._pads = file, day, state, pads
        self._line, self._names = head
        self._faults: list[Fault] = []
        self._wheels: dict[object, str] = {}
        self._under: dict[str, str] = {}

    def columns(self) -> _Columns:
        """The quantity of each column.

        Raises
        ------
        DayFileError: a column is none, twice, or without an instrument.
        """
        loads: dict[int, tuple[Place, Instrument]] = {}
        heights: dict[int, Place] = {}
        seen: dict[str, int] = {}
        for number, name in enumerate(self._names):
            if name in seen:
                self._fault(name, f"stands twice, as columns {seen[name] + 1} and {number + 1}; keep one of them")
                continue
            seen[name] = number
            if name == TIME or self._is_time(name):
                continue
            place = self._place(name.removesuffix(HEIGHT), name)
            if place is None:
                continue
            if name.endswith(HEIGHT):
                heights[number] = place
                continue
            instrument = self._instrument(place)
            if instrument is not None and self._once(place):
                loads[number] = place, instrument
        self._finish(seen, loads)
        return _Columns(tuple(self._names), seen[TIME], loads, heights)

    def _finish(self, seen: Mapping[str, int], loads: Mapping[int, object]) -> None:
        if TIME not in seen and not self._faults:
            self._fault("", f"no column is called {TIME}; the first row names the columns, and {TIME} is the time")
        for place in self._pads:
            if place not in seen:
                self._fault(place, f"--pad names it, and no column does; there are {listed(self._names)}")
        if not self._faults and len(loads) < 2:
            self._fault("", "has fewer than two places that carry load; what one takes from another cannot be told")
        if self._faults:
            raise DayFileError(self._file, tuple(self._faults))

    def _is_time(self, name: str) -> bool:
        """Whether a column looks like the time under another name, where none has the right one; it is then a fault."""
        odd = TIME not in self._names and "/" not in name and name not in self._day.vehicles
        if odd:
            self._fault(name, f"is not a place; if it is the time, call it {TIME}")
        return odd

    def _fault(self, column: str, message: str) -> None:
        self._faults.append(Fault(self._line, column, "", message))

    def _place(self, text: str, column: str) -> Place | None:
        try:
            place = parse_place(text, self._day.vehicles)
        except PlaceError as error:
            hint = f'a column is {TIME}, a place as in "tow/1L", or a place and "height"'
            self._fault(column, f"is not a place: {error}; {hint}")
            return None
        away = [wheel.vehicle for wheel in place.wheels if wheel.vehicle not in self._state.vehicles]
        away += [name for name in place.couplings if name not in self._state.vehicles]
        if away:
            here = listed(self._state.vehicles)
            self._fault(column, f"{away[0]!r} is not in state {self._state.id!r}; there are {here}")
            return None
        if any(self._state.link_of_trailer(name) is not None for name in place.couplings):
            self._fault(column, "the trailer hangs on its coupling in this state, so no pad stands under it")
            return None
        return place

    def _once(self, place: Place) -> bool:
        for part in (*place.wheels, *place.couplings):
            first = self._wheels.setdefault(part, place.text)
            if first != place.text:
                self._fault(place.text, f"holds {part}, which column {first!r} holds already")
                return False
        return True

    def _instrument(self, place: Place) -> Instrument | None:
        """The instrument under a place: as the option says, else as the drafts of the state do."""
        found = [self._pads[place.text]] if place.text in self._pads else self._by_drafts(place)
        option = f"--pad {place.text}=NAME"
        if not found:
            drafts = f"no draft of state {self._state.id!r} has a reading there"
            self._fault(place.text, f"{drafts}, so its instrument is not known; say it with {option}")
            return None
        if len(found) > 1:
            self._fault(place.text, f"the drafts put {' and '.join(found)} there; say which it is with {option}")
            return None
        name = found[0]
        if name not in self._day.instruments:
            known = self._day.instruments
            self._fault(
                place.text, f"there is no instrument {name!r}; {suggest(name, known, f'there are {listed(known)}')}"
            )
            return None
        first = self._under.setdefault(name, place.text)
        if first != place.text:
            self._fault(place.text, f"{name!r} stands under {first!r} already; say what stands here with {option}")
            return None
        return self._day.instruments[name]

    def _by_drafts(self, place: Place) -> list[str]:
        drafts = [draft for draft in self._day.drafts if draft.state == self._state.id]
        readings = [reading for draft in drafts for reading in draft.readings]
        return list(dict.fromkeys(item.instrument for item in readings if item.place.text == place.text))


def _fast(text: str, width: int, dialect: _Dialect) -> Array | None:
    """All numbers at once, shape (n, columns); None where something is no finite number or a row has another width."""
    import numpy as np

    if '"' in text.partition("\n")[2]:
        return None
    lines = text.splitlines()
    start = next(number for number, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#"))
    body = lines[start + 1 :]
    if not body:
        return np.zeros((0, width))
    if dialect.marks is Marks.COMMA:
        if any("." in line for line in body):
            return None
        body = [line.replace(",", ".") for line in body]
    try:
        table = np.loadtxt(body, delimiter=dialect.separator, ndmin=2)
    except ValueError:
        return None
    sound = table.shape[1] == width and bool(np.isfinite(table).all())
    return table if sound else None


def _slowly(text: str, file: str, columns: _Columns, dialect: _Dialect) -> Array:
    """The same cell by cell, for moments as times, and to say what is wrong where.

    Raises
    ------
    DayFileError: a cell that is no number, or a row of another width.
    """
    import numpy as np

    faults: list[Fault] = []
    table: list[list[float]] = []
    rows = _rows(text, dialect)
    next(rows)
    width = len(columns.names)
    for line, row in rows:
        if len(row) != width:
            message = f"has {len(row)} cell{'' if len(row) == 1 else 's'}; the row of names has {width}"
            faults.append(Fault(line, "", show_line(dialect.separator.join(row)), message))
        else:
            cells = zip(columns.names, row, strict=True)
            table.append([_cell(line, name, text, dialect.marks, faults) for name, text in cells])
        if len(faults) >= _MOST_FAULTS:
            break
    if faults:
        raise DayFileError(file, tuple(faults))
    return np.array(table).reshape(len(table), width)


def _cell(line: int, name: str, text: str, marks: Marks, faults: list[Fault]) -> float:
    try:
        value = read_number(text, marks)
        if math.isfinite(value):
            return value
    except EitherNumberError as error:
        faults.append(Fault(line, name, show_line(text), str(error)))
        return 0.0
    except NumberError:
        if name == TIME:
            moment = _moment(text)
            if moment is not None:
                return (moment if moment.tzinfo is not None else moment.replace(tzinfo=datetime.UTC)).timestamp()
    wanted = "a number of seconds or a moment such as 2026-04-09T08:10:00Z" if name == TIME else "a plain number"
    faults.append(Fault(line, name, show_line(text), f"is {'empty' if not text else 'not a number'}; write {wanted}"))
    return 0.0


def _moment(text: str) -> datetime.datetime | None:
    """A time that is written as a moment; None where it is anything else."""
    try:
        return datetime.datetime.fromisoformat(text)
    except ValueError:
        return None


def _began(text: str, columns: _Columns, dialect: _Dialect) -> datetime.datetime | None:
    """The time of the first sample where it is written as a moment; a number is one of seconds."""
    rows = _rows(text, dialect)
    next(rows)
    first = next(rows)[1][columns.time]
    try:
        read_number(first, dialect.marks)
    except NumberError:
        return _moment(first)
    return None


def _checked(text: str, file: str, columns: _Columns, table: Array, units: UnitSystem, dialect: _Dialect) -> SweepLog:
    """The columns in SI units, once time, capacities and divisions are found in order.

    Raises
    ------
    DayFileError: a time before the one above it, or what its instrument cannot show.
    """
    import numpy as np

    mass, length = units.factor(Dimension.MASS), units.factor(Dimension.LENGTH)
    times = table[:, columns.time]
    faults: list[tuple[int, str, float, str]] = []
    back = np.flatnonzero(np.diff(times) < 0.0)
    if len(back):
        row = int(back[0]) + 1
        message = f"goes backward: the sample before it is at {times[row - 1]:.10g}; samples stand in order of time"
        faults.append((row, TIME, float(times[row]), message))
    for column, (place, instrument) in columns.loads.items():
        faults += _load_faults(table[:, column], place, instrument, units)
    for column in columns.heights:
        tall = np.flatnonzero(np.abs(table[:, column]) * length > _TALLEST)
        if len(tall):
            most = f"{_TALLEST / length:.4g} {units.length}"
            message = f"is beyond {most}, which no body is; they are written in {units.length} here"
            faults.append((int(tall[0]), columns.names[column], float(table[tall[0], column]), message))
    if faults:
        lines = [line for line, _ in _rows(text, dialect)][1:]
        found = [Fault(lines[row], name, f"{value:.10g}", message) for row, name, value, message in sorted(faults)]
        raise DayFileError(file, tuple(found))
    return SweepLog(
        file,
        times,
        tuple(place for place, _ in columns.loads.values()),
        tuple(instrument.id for _, instrument in columns.loads.values()),
        np.ascontiguousarray(table[:, list(columns.loads)]) * mass,
        tuple(columns.heights.values()),
        np.ascontiguousarray(table[:, list(columns.heights)]) * length,
        _began(text, columns, dialect),
    )


def _load_faults(
    shown: Array, place: Place, instrument: Instrument, units: UnitSystem
) -> Iterator[tuple[int, str, float, str]]:
    """Samples that the instrument at a place cannot have shown, the first of each kind; ``shown`` of shape (n,)."""
    import numpy as np

    capacity, division = (units.show(value, Dimension.MASS) for value in (instrument.capacity, instrument.division))
    unit, name = units.mass, instrument.id
    counts = shown / division
    checks = (
        (shown < 0.0, "is below zero; zero the pad, and leave out samples without a load"),
        (
            shown >= capacity * (1.0 - 1e-9),
            (
                f"is at or over the capacity of {name!r}, {capacity:.10g} {unit}: the pad is saturated; leave these "
                "samples out and use a larger pad. Never load a pad beyond its capacity"
            ),
        ),
        (
            np.abs(counts - np.round(counts)) > _OFF_DIVISION + 1e-9 * np.abs(counts),
            f"is not a multiple of the division of {name!r}, {division:.10g} {unit}",
        ),
    )
    for wrong, message in checks:
        rows = np.flatnonzero(wrong)
        if len(rows):
            yield int(rows[0]), place.text, float(shown[rows[0]]), message
            return
