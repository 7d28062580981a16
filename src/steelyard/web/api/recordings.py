"""The interface for programs, where a log of growing load is recorded: begun, typed row by row, finished or let go."""

from __future__ import annotations

import math
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.model import PlaceError, WeighDay, parse_place
from steelyard.questions.form import refusal
from steelyard.questions.kinds import Amount, ByName, Choice, StateName, Text, Whole
from steelyard.units import Dimension, Quantity
from steelyard.web.api.learn import PADS_SENT, SweepNumberShape, SweepOptions, number_of, opened_day
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.http.told import WRITES, Given, Told, answered, kept
from steelyard.web.settings import API
from steelyard.web.station.book import OpenDay
from steelyard.web.station.recording import FEWEST_ROWS, Recording, StandingShape, Take, placed
from steelyard.web.station.station import Station


@dataclass(frozen=True, slots=True)
class RecordingShape:
    """The recording of a day; null: nothing is recorded."""

    recording: StandingShape | None


@dataclass(frozen=True, slots=True)
class SentRecording:
    """A recording that begins."""

    state: Annotated[str, StateName("The state of the rig on the pads.")]
    take: Annotated[Take, Choice("Rows while all pads stand still; every sample; or those that are typed.", Take)] = (
        Take.STEADY
    )
    pads: Annotated[Mapping[str, str], ByName(PADS_SENT, Text(""))] = field(default_factory=dict[str, str])


@dataclass(frozen=True, slots=True)
class SentRow:
    """A row as it was read."""

    row: Annotated[int, Whole("Its number: sent twice, it is one row.", 1, 10**9)]
    readings: Annotated[
        Mapping[str, Quantity],
        ByName("One for each place: a number, or a text with its unit.", Amount("", Dimension.MASS)),
    ]


def _station(request: Request) -> Station:
    return request.state.station


async def get_recording(request: Request) -> Response:
    """How the recording of a day stands."""
    opened = await opened_day(request)
    recording = _station(request).recordings.get(opened.id)
    return answered(RecordingShape(None if recording is None else recording.standing()))


async def begin(request: Request) -> Response:
    """Begin to record.

    Raises
    ------
    Problem: one is underway, or nobody says which pad stands where.
    """
    station, opened = _station(request), await opened_day(request)
    sent = await incoming.read_body(request, SentRecording, opened.day)
    try:
        pads = placed(opened.day, sent.state, _places(opened.day, sent.state, sent.pads))
    except ValueError as error:
        raise refusal("pads", "", str(error)) from None
    if opened.id in station.recordings:
        raise Problem(409, "recording", "a log of this day is being recorded already; finish it or let it go first")
    recording = Recording(
        sent.state, pads, sent.take, opened.day.units, opened.day.instruments, secrets.token_hex(16), _device(request)
    )
    station.live.know(opened.day.instruments)
    station.recordings[opened.id] = recording
    if recording.take is not Take.HAND:
        station.live.hearers.add(recording.hear)
    return answered(RecordingShape(recording.standing()), 201)


def _places(day: WeighDay, state: str, pads: Mapping[str, str]) -> dict[str, str]:
    """The places, each as the reader of logs writes it.

    Raises
    ------
    ValueError: one is none of the state.
    """
    found: dict[str, str] = {}
    for text, name in pads.items():
        try:
            place = parse_place(text, day.vehicles)
        except PlaceError as error:
            raise ValueError(f"{text[:40]!r} is not a place: {error}") from None
        on = {*(wheel.vehicle for wheel in place.wheels), *place.couplings}
        away = on - set(day.states[state].vehicles)
        if away or place.text in found:
            raise ValueError(f"{text[:40]!r} {f'is not in state {state!r}' if away else 'stands twice'}")
        found[place.text] = name
    return found


def _device(request: Request) -> str:
    return request.state.viewer.device


def _running(request: Request, opened: OpenDay) -> Recording:
    recording = _station(request).recordings.get(opened.id)
    if recording is None:
        raise Problem(409, "not_recording", "nothing of this day is being recorded")
    return recording


async def add_row(request: Request) -> Response:
    """A row typed by a person; the same ``row`` again is a replay.

    Raises
    ------
    Problem: it is none, or another one stands there.
    """
    opened = await opened_day(request)
    sent = await incoming.read_body(request, SentRow, opened.day)
    recording, number = _running(request, opened), sent.row
    if recording.take is not Take.HAND:
        raise Problem(409, "not_by_hand", "this log is recorded from the pads; rows are typed where it begins by hand")
    readings = {place: shown.value for place, shown in sent.readings.items()}
    last = len(recording.rows)
    if number > last + 1:
        raise Problem(409, "row_missing", f"there are {last} rows; the next one is {last + 1}")
    if number <= last:
        return _replayed(recording, number, readings)
    if not recording.running:
        raise Problem(409, "not_recording", "this recording has ended; begin another one")
    try:
        recording.type_in(readings)
    except ValueError as error:
        raise refusal(f"row {number}", "", str(error)) from None
    return answered(RecordingShape(recording.standing()), 201)


def _replayed(recording: Recording, number: int, readings: Mapping[str, float]) -> Response:
    units, row = recording.units, recording.rows[number - 1]
    there = dict(zip(recording.pads, row[1:], strict=True))
    shown = {place: units.show(value, Dimension.MASS) for place, value in readings.items()}
    if set(shown) != set(there) or not all(math.isclose(shown[place], there[place], abs_tol=1e-6) for place in there):
        raise Problem(409, "row_taken", f"row {number} was sent before with other readings; take it back first")
    return answered(RecordingShape(recording.standing()))


async def take_back(request: Request) -> Response:
    """Take the last typed row back.

    Raises
    ------
    Problem: it is not the last one, or none was typed.
    """
    recording = _running(request, await opened_day(request))
    if recording.take is not Take.HAND or not recording.rows or number_of(request) != len(recording.rows):
        raise Problem(409, "not_the_last", "only the last row that was typed can be taken back")
    recording.take_back()
    return answered(RecordingShape(recording.standing()))


async def finish(request: Request) -> Response:
    """End the recording and keep its log.

    Raises
    ------
    Problem: there is none, or it has too few rows.
    """
    station, opened = _station(request), await opened_day(request)
    more = (await incoming.read_body(request, SweepOptions, opened.day)).said
    recording = _running(request, opened)
    if len(recording.rows) < FEWEST_ROWS:
        message = f"a log takes {FEWEST_ROWS} rows or more, and this one has {len(recording.rows)}; go on or let it go"
        raise Problem(409, "too_few_rows", message)
    return answered(SweepNumberShape(await station.finish(opened.id, recording, more)), 201)


async def let_go(request: Request) -> Response:
    """End the recording and keep nothing."""
    station, opened = _station(request), await opened_day(request)
    recording = station.recordings.pop(opened.id, None)
    if recording is not None:
        station.live.hearers.discard(recording.hear)
    return answered(RecordingShape(None))


_STANDING = {200: Given("How it stands.", RecordingShape)}
_GET = Told("getRecording", "How the recording of a day stands.", _STANDING, refuses=(404,))
_BEGIN = Told(
    "beginRecording",
    "Record the live samples of every placed pad.",
    {201: Given("How it stands.", RecordingShape)},
    takes=SentRecording,
    more="It runs on the station until it is finished, or the rig leaves its pads. Only readings become rows.",
    refuses=(404, *WRITES),
)
_LET_GO = Told("letRecordingGo", "End the recording and keep nothing.", _STANDING, refuses=(404,))
_ADD_ROW = Told(
    "addRecordingRow",
    "Add a row that a person read, where the recording is by hand.",
    kept(RecordingShape, "The row was there."),
    takes=SentRow,
    refuses=(404, *WRITES),
)
_TAKE_BACK = Told("takeRowBack", "Take the last typed row back.", _STANDING, refuses=(404, 409))
_FINISH = Told(
    "finishRecording",
    "End the recording and keep its log.",
    {201: Given("It is on disk.", SweepNumberShape)},
    takes=SweepOptions,
    refuses=(404, *WRITES),
)

_RECORDING = f"{API}/days/{{id}}/recording"

routes: list[BaseRoute] = [
    route("GET", _RECORDING, get_recording, may=May.LOOK, told=_GET),
    route("POST", _RECORDING, begin, may=May.WEIGH, told=_BEGIN),
    route("DELETE", _RECORDING, let_go, may=May.WEIGH, told=_LET_GO),
    route("POST", f"{_RECORDING}/rows", add_row, may=May.WEIGH, told=_ADD_ROW),
    route("DELETE", f"{_RECORDING}/rows/{{number}}", take_back, may=May.WEIGH, told=_TAKE_BACK),
    route("POST", f"{_RECORDING}/finish", finish, may=May.WEIGH, told=_FINISH),
]
