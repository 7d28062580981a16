"""The interface for programs, where a rig is learned: logs of growing load recorded, sent, fitted and kept.

``/sweep`` answers what ``steelyard sweep --json`` prints. See ``openapi_learn.py``.
"""

from __future__ import annotations

import datetime
import hashlib
import math
import secrets
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from steelyard.model import PlaceError, WeighDay, parse_place
from steelyard.store import LARGEST_SWEEP, Shelf, SweepRecord
from steelyard.units import Dimension
from steelyard.web.api import questions
from steelyard.web.api.questions import fault
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import DAY, May, route
from steelyard.web.settings import API
from steelyard.web.station.book import OpenDay
from steelyard.web.station.recording import FEWEST_ROWS, Recording, Take, placed
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.station import Station
from steelyard.web.station.sweeping import OPTIONS, in_yard

if TYPE_CHECKING:
    from steelyard.questions.sweep import SweepAnswer

_LONGEST = 200  # letters of a name, a place, a length
_MOST_PADS = 100


def _station(request: Request) -> Station:
    return request.state.station


async def _opened(request: Request) -> OpenDay:
    return await _station(request).day(incoming.day_id(request))


# ---- fitting ----


async def sweep(request: Request) -> Response:
    """What a log teaches; nothing is kept."""
    opened, station = await _opened(request), _station(request)
    asked, number = await _asked(request, opened)
    if number is not None:
        answer = await answer_of(station, opened, await a_log(station, opened.id, number), _options_of(asked))
    else:
        answer = await station.sweeper.ask(opened.day, asked)
    return JSONResponse(await station.run(_data, opened, answer))


async def get_answer(request: Request) -> Response:
    """What a kept log teaches."""
    opened, station = await _opened(request), _station(request)
    record = await a_log(station, opened.id, _number(request))
    answer = await answer_of(station, opened, record, query_options(request))
    return JSONResponse(await station.run(_data, opened, answer), headers=_named(f"sweep-{record.number}.json"))


def _data(opened: OpenDay, answer: SweepAnswer) -> dict[str, Any]:
    from steelyard.questions.sweep import SWEEP

    return SWEEP.data(answer, file=f"{opened.id}.toml")


async def answer_of(station: Station, opened: OpenDay, record: SweepRecord, options: Mapping[str, Any]) -> SweepAnswer:
    """What a kept log teaches of its day as that stands; ``options`` go before what was said when it was kept.

    Raises
    ------
    Problem, DayFileError: it teaches nothing.
    """
    said = {key: record.about[key] for key in ("state", "pads", *OPTIONS) if key in record.about}
    asked = {**said, **options, "csv": record.text, "name": name_of(record)}
    return await station.sweeper.ask(opened.day, asked, opened.id, opened.seq, record.number)


def name_of(record: SweepRecord) -> str:
    """What a log is called."""
    return str(record.about.get("name") or f"log {record.number}")


def query_options(request: Request) -> dict[str, str]:
    """What the address says of a log.

    Raises
    ------
    Problem: endless.
    """
    found = {key: request.query_params[key] for key in OPTIONS if key in request.query_params}
    for key, value in found.items():
        if len(value) > _LONGEST:
            raise Problem(422, "bad_parameter", f"{key} has at most {_LONGEST} letters")
    return found


def _options_of(asked: Mapping[str, Any]) -> dict[str, Any]:
    return {key: asked[key] for key in OPTIONS if asked.get(key) not in (None, "")}


async def _asked(request: Request, opened: OpenDay) -> tuple[dict[str, Any], int | None]:
    """The question of a body, and the number of a kept log: a log as CSV, or JSON with rows, a CSV text or that number.

    Raises
    ------
    Problem: it is none.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind == "application/json":
        return _of_json(await incoming.read_object(request))
    params = request.query_params
    if len(params.get("state", "")) > _LONGEST or len(params.get("name", "")) > _LONGEST:
        raise Problem(422, "bad_parameter", f"state and name have at most {_LONGEST} letters")
    if not params.get("state"):
        raise Problem(422, "bad_parameter", f"state says which stood on the pads: {', '.join(opened.day.states)}")
    text = _within(await incoming.read_text(request))
    pads = params.getlist("pad")[:_MOST_PADS]
    said = {"state": params["state"], "name": params.get("name", ""), "pads": pads}
    return {**said, **query_options(request), "csv": text}, None


def _of_json(data: Mapping[str, Any]) -> tuple[dict[str, Any], int | None]:
    given = [key for key in ("csv", "rows", "log") if key in data]
    if len(given) != 1:
        raise fault(" ".join(given) or "rows", "", "gives a log once: as rows, as csv, or the number of a kept log")
    said = {key: value for key, value in data.items() if key not in given}
    if given == ["log"]:
        number = data["log"]
        if isinstance(number, bool) or not isinstance(number, int) or not 0 < number < 10**9:
            raise fault("log", number, "is no number of a kept log")
        return said, number
    text = questions.text(data, "csv") if given == ["csv"] else _text_of(questions.items(data, "rows"))
    return {**said, "csv": _within(text)}, None


def _within(text: str) -> str:
    if len(text.encode("utf-8", "surrogatepass")) > LARGEST_SWEEP or "\0" in text:
        raise Problem(413, "too_large", f"a log is text of at most {LARGEST_SWEEP / 1e6:g} MB")
    return text.encode("utf-8", "replace").decode()


def _text_of(rows: list[Any]) -> str:
    """Rows as the same log in CSV: line 1 holds the names of the first row."""
    if not rows:
        raise fault("rows", "", "is empty; a sweep takes three rows or more")
    names = list(questions.as_object(rows[0]))
    lines = [_line(names)]
    for number, row in enumerate(rows, 1):
        cells = questions.as_object(row)
        if set(cells) != set(names):
            raise fault(f"rows[{number}]", "", f"has other names than the first row: {', '.join(names)}"[:400])
        lines.append(_line(_cell(number, name, cells[name]) for name in names))
    return "\n".join(lines) + "\n"


def _cell(number: int, name: str, value: Any) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, bool) or not isinstance(value, (int, float)) or abs(value) > 1e15:
        raise fault(f"rows[{number}].{name}", value, "is no number")
    return f"{value:.12g}"


def _line(cells: Iterable[str]) -> str:
    quoted = (f'"{cell.replace(chr(34), chr(34) * 2)}"' if set(cell) & set(',"\n\r') else cell for cell in cells)
    return ",".join(quoted)


def _pads(data: Mapping[str, Any]) -> dict[str, str]:
    pads = questions.table(data, "pads")
    for place, name in pads.items():
        if not isinstance(name, str):
            raise fault(f"pads.{place}", name, "is no name of an instrument")
    if len(pads) > _MOST_PADS:
        raise fault("pads", "", f"names more than {_MOST_PADS} places")
    return {str(place): str(name) for place, name in pads.items()}


# ---- logs that are kept ----


async def a_log(station: Station, day_id: str, number: int) -> SweepRecord:
    """A kept log.

    Raises
    ------
    Problem: there is none of that number.
    """
    record = await station.run(station.store.log, day_id, number)
    if record is None:
        raise Problem(404, "no_such_log", "the day has no log of that number")
    return record


def _number(request: Request) -> int:
    text: str = request.path_params["number"]
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


async def list_logs(request: Request) -> Response:
    """The logs of a day."""
    station = _station(request)
    logs = await station.run(station.store.logs, incoming.day_id(request))
    return JSONResponse({"logs": [_as_data(log) for log in logs]})


def _as_data(log: SweepRecord) -> dict[str, Any]:
    about = {key: log.about[key] for key in ("state", "pads", "take", "rows", *OPTIONS) if key in log.about}
    head = {"number": log.number, "key": log.key, "name": name_of(log), "device": log.device}
    return {**head, "received": log.received.isoformat(), **about}


async def get_log(request: Request) -> Response:
    """A log as it was recorded or sent."""
    record = await a_log(_station(request), incoming.day_id(request), _number(request))
    return Response(record.text, media_type="text/csv; charset=utf-8", headers=_named(f"sweep-{record.number}.csv"))


def _named(name: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{name}"'}


def _by_place(pads: Mapping[str, str] | list[str] | None) -> dict[str, str]:
    """Pads as they are kept with a log: by place, also where they came as texts like ``tow/1L=p1``."""
    if isinstance(pads, list):
        parts = (text.rpartition("=") for text in pads)
        return {place.strip(): name.strip() for place, _, name in parts}
    return dict(pads or {})


async def add_log(request: Request) -> Response:
    """Keep a log that was taken elsewhere; only one that teaches something.

    Raises
    ------
    Problem, DayFileError: it has a fault, or teaches nothing.
    """
    station, opened = _station(request), await _opened(request)
    asked, number = await _asked(request, opened)
    if number is not None:
        raise fault("log", number, "is kept already")
    answer = await station.sweeper.ask(opened.day, asked)
    text: str = asked["csv"]
    about: dict[str, Any] = {
        "state": answer.state,
        "pads": _by_place(asked.get("pads")),
        "rows": answer.samples,
        "name": answer.file,
        **_options_of(asked),
    }
    mark = hashlib.sha256(repr(sorted(about.items())).encode() + text.encode()).hexdigest()[:32]
    kept, new = await station.keep_log(opened.id, mark, text, about, request.state.viewer.device)
    return JSONResponse({"number": kept, "replay": not new}, 201 if new else 200)


async def teach(request: Request) -> Response:
    """Keep what a log taught with the vehicle in the yard, as a new version of it.

    Raises
    ------
    Problem, DayFileError: it teaches nothing, or the yard has another vehicle of that name.
    """
    station, opened = _station(request), await _opened(request)
    data = await incoming.read_object(request)
    questions.only(data, *OPTIONS)
    record = await a_log(station, opened.id, _number(request))
    answer = await answer_of(station, opened, record, data)
    kept = await station.run(station.store.kept, Shelf.VEHICLE, answer.vehicle)
    text, learned = await station.run(in_yard, answer, kept, datetime.datetime.now(datetime.UTC).date())
    version = await station.shelve(Shelf.VEHICLE, answer.vehicle, text, learned, request.state.viewer.device)
    new = kept is None or version > kept.version
    return JSONResponse({"name": answer.vehicle, "version": version}, 201 if new else 200)


# ---- recording ----


async def get_recording(request: Request) -> Response:
    """How the recording of a day stands."""
    opened = await _opened(request)
    recording = _station(request).recordings.get(opened.id)
    return JSONResponse({"recording": None if recording is None else recording.as_data()})


async def begin(request: Request) -> Response:
    """Begin to record.

    Raises
    ------
    Problem: one is underway, or nobody says which pad stands where.
    """
    station, opened = _station(request), await _opened(request)
    data = await incoming.read_object(request)
    questions.only(data, "state", "pads", "take")
    state, take = questions.text(data, "state"), questions.text(data, "take", "steady")
    if state not in opened.day.states:
        raise fault("state", state, f"is no state of the day; there are {', '.join(opened.day.states)}")
    if take not in set(Take):
        raise fault("take", take, f"is none of {', '.join(Take)}")
    try:
        pads = placed(opened.day, state, _places(opened.day, state, _pads(data)))
    except ValueError as error:
        raise fault("pads", "", str(error)) from None
    if opened.id in station.recordings:
        raise Problem(409, "recording", "a log of this day is being recorded already; finish it or let it go first")
    recording = Recording(
        state, pads, Take(take), opened.day.units, opened.day.instruments, secrets.token_hex(16), _device(request)
    )
    station.live.know(opened.day.instruments)
    station.recordings[opened.id] = recording
    if recording.take is not Take.HAND:
        station.live.hearers.add(recording.hear)
    return JSONResponse({"recording": recording.as_data()}, 201)


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
            raise ValueError(f"{text[:40]!r} is no place: {error}") from None
        on = {*(wheel.vehicle for wheel in place.wheels), *place.couplings}
        away = on - set(day.states[state].vehicles)
        if away or place.text in found:
            raise ValueError(f"{text[:40]!r} {'is not in that state' if away else 'stands twice'}")
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
    opened = await _opened(request)
    data = await incoming.read_object(request)
    questions.only(data, "row", "readings")
    recording, number = _running(request, opened), data.get("row")
    if recording.take is not Take.HAND:
        raise Problem(409, "not_by_hand", "this log is recorded from the pads; rows are typed where it begins by hand")
    if isinstance(number, bool) or not isinstance(number, int) or number < 1:
        raise fault("row", number, "is no number of a row, from 1")
    readings = {
        place: questions.quantity(opened.day, value, Dimension.MASS, f"readings.{place}").value
        for place, value in questions.table(data, "readings").items()
    }
    last = len(recording.rows)
    if number > last + 1:
        raise Problem(409, "row_missing", f"there are {last} rows; the next one is {last + 1}")
    if number <= last:
        return _replayed(recording, number, readings)
    if not recording.running:
        raise Problem(409, "not_recording", "this recording has ended")
    try:
        recording.type_in(readings)
    except ValueError as error:
        raise fault(f"row {number}", "", str(error)) from None
    return JSONResponse({"recording": recording.as_data()}, 201)


def _replayed(recording: Recording, number: int, readings: Mapping[str, float]) -> Response:
    units, row = recording.units, recording.rows[number - 1]
    there = dict(zip(recording.pads, row[1:], strict=True))
    shown = {place: units.show(value, Dimension.MASS) for place, value in readings.items()}
    if set(shown) != set(there) or not all(math.isclose(shown[place], there[place], abs_tol=1e-6) for place in there):
        raise Problem(409, "row_taken", f"row {number} is there and says otherwise; take it back first")
    return JSONResponse({"recording": recording.as_data()}, 200)


async def take_back(request: Request) -> Response:
    """Take the last typed row back.

    Raises
    ------
    Problem: it is not the last one, or none was typed.
    """
    recording = _running(request, await _opened(request))
    if recording.take is not Take.HAND or not recording.rows or _number(request) != len(recording.rows):
        raise Problem(409, "not_the_last", "only the last row that was typed can be taken back")
    recording.take_back()
    return JSONResponse({"recording": recording.as_data()})


async def finish(request: Request) -> Response:
    """End the recording and keep its log.

    Raises
    ------
    Problem: there is none, or it has too few rows.
    """
    station, opened = _station(request), await _opened(request)
    data = await incoming.read_object(request)
    questions.only(data, *OPTIONS)
    more = {key: questions.text(data, key)[:_LONGEST] for key in OPTIONS if data.get(key)}
    recording = _running(request, opened)
    if len(recording.rows) < FEWEST_ROWS:
        message = f"a log takes {FEWEST_ROWS} rows or more, and this one has {len(recording.rows)}; go on or let it go"
        raise Problem(409, "too_few_rows", message)
    return JSONResponse({"number": await station.finish(opened.id, recording, more)}, 201)


async def let_go(request: Request) -> Response:
    """End the recording and keep nothing."""
    station, opened = _station(request), await _opened(request)
    recording = station.recordings.pop(opened.id, None)
    if recording is not None:
        station.live.hearers.discard(recording.hear)
    return JSONResponse({"recording": None})


async def put_on(simulation: Simulation, data: Mapping[str, Any]) -> Response:
    """Somebody steps onto a coupling of the simulated rig, or everybody off it.

    Raises
    ------
    Problem: the rig has no such coupling, or does not stand on its pads.
    """
    questions.only(data, "put_on", "at")
    if data["put_on"] is None:
        simulation.take_off()
        return JSONResponse(simulation.standing())
    mass = questions.quantity(simulation.day, data["put_on"], Dimension.MASS, "put_on").value
    vehicle, _, coupling = questions.text(data, "at").partition("/")
    if vehicle not in simulation.day.vehicles or coupling not in simulation.day.vehicles[vehicle].couplings:
        raise fault("at", f"{vehicle}/{coupling}"[:60], "is no coupling of the simulated rig, as in tow/ball")
    if not 0.0 < mass <= 2000.0:
        raise fault("put_on", data["put_on"], "is more than anybody steps on with, or nothing")
    if not simulation.put_on(mass, vehicle, coupling):
        raise Problem(409, "not_on_the_pads", f"{vehicle} does not stand on the pads now")
    return JSONResponse(simulation.standing())


_DAY = f"{API}/days/{{id}}"

routes: list[BaseRoute] = [
    route("POST", f"{_DAY}/sweep", sweep, may=May.LOOK, body=DAY),
    route("GET", f"{_DAY}/sweeps", list_logs, may=May.LOOK),
    route("POST", f"{_DAY}/sweeps", add_log, may=May.WEIGH, body=DAY),
    route("GET", f"{_DAY}/sweeps/{{number}}/log.csv", get_log, may=May.LOOK),
    route("GET", f"{_DAY}/sweeps/{{number}}/answer", get_answer, may=May.LOOK),
    route("POST", f"{_DAY}/sweeps/{{number}}/teach", teach, may=May.WEIGH),
    route("GET", f"{_DAY}/recording", get_recording, may=May.LOOK),
    route("POST", f"{_DAY}/recording", begin, may=May.WEIGH),
    route("DELETE", f"{_DAY}/recording", let_go, may=May.WEIGH),
    route("POST", f"{_DAY}/recording/rows", add_row, may=May.WEIGH),
    route("DELETE", f"{_DAY}/recording/rows/{{number}}", take_back, may=May.WEIGH),
    route("POST", f"{_DAY}/recording/finish", finish, may=May.WEIGH),
]
