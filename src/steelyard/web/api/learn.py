"""The interface for programs, where a rig is learned: logs of growing load sent, fitted and kept.

``/sweep`` answers what ``steelyard sweep --json`` prints. Logs are recorded in ``recordings``.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from steelyard.questions.shape import OMIT, Also, Omit
from steelyard.store import LARGEST_SWEEP, Shelf, SweepRecord
from steelyard.web.api import questions
from steelyard.web.api.questions import fault
from steelyard.web.api.yard import VersionShape
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import DAY, May, route
from steelyard.web.http.told import ASKS, WRITES, Given, Parameter, Reply, Told, Written, answered, kept
from steelyard.web.settings import API
from steelyard.web.station.book import OpenDay
from steelyard.web.station.station import Station
from steelyard.web.station.sweeping import OPTIONS, in_yard

if TYPE_CHECKING:
    from steelyard.questions.sweep import SweepAnswer

LONGEST = 200
"""Letters of a name, a place, a length."""

_MOST_PADS = 100
_CSV = "text/csv"

_WORDS = {
    "on": "The vehicle that was loaded; else the towing one.",
    "at": 'Where the load was put: a coupling of it, or two lengths as in `"222 in, 0 in"`.',
    "height_division": "Step in which heights were read; 1 mm where left out.",
}

Pads = Annotated[
    Mapping[str, str], 'What stands under each place, as in `{"tow/1L": "p1"}`; else as the day\'s drafts say.'
]
"""By place the instrument under it."""


@dataclass(frozen=True, slots=True)
class SweepOptions:
    """What is said of a log; else as when it was kept."""

    on: Annotated[str | Omit, _WORDS["on"]] = OMIT
    at: Annotated[str | Omit, _WORDS["at"]] = OMIT
    height_division: Annotated[str | Omit, _WORDS["height_division"]] = OMIT


@dataclass(frozen=True, slots=True)
class SweepNumberShape:
    """The log is on disk."""

    number: Annotated[int, "Of the log in its day.", Also(minimum=0)]
    replay: Annotated[bool | Omit, "Whether it was kept before."] = OMIT


@dataclass(frozen=True, slots=True)
class SweepLogShape:
    """A log of growing load."""

    number: Annotated[int, "Its place among the logs of the day, from 1.", Also(minimum=0)]
    key: Annotated[str, "Known to nobody else."]
    name: Annotated[str, "What it is called."]
    device: Annotated[str, "Who recorded or sent it."]
    received: Annotated[str, "When it was kept."]
    state: Annotated[str | Omit, "The state of the rig on the pads."] = OMIT
    pads: Pads | Omit = OMIT
    take: Annotated[str | Omit, "How it was recorded."] = OMIT
    rows: Annotated[int | Omit, "How many it has.", Also(minimum=0)] = OMIT
    on: Annotated[str | Omit, _WORDS["on"]] = OMIT
    at: Annotated[str | Omit, _WORDS["at"]] = OMIT
    height_division: Annotated[str | Omit, _WORDS["height_division"]] = OMIT


@dataclass(frozen=True, slots=True)
class SweepLogsShape:
    """Logs of one day."""

    logs: tuple[SweepLogShape, ...]


def _station(request: Request) -> Station:
    return request.state.station


async def opened_day(request: Request) -> OpenDay:
    """The day that the address names."""
    return await _station(request).day(incoming.day_id(request))


# ---- fitting ----


async def sweep(request: Request) -> Response:
    """What a log teaches; nothing is kept."""
    opened, station = await opened_day(request), _station(request)
    asked, number = await _asked(request, opened)
    if number is not None:
        answer = await answer_of(station, opened, await a_log(station, opened.id, number), _options_of(asked))
    else:
        answer = await station.sweeper.ask(opened.day, asked)
    return JSONResponse(await station.run(_data, opened, answer))


async def get_answer(request: Request) -> Response:
    """What a kept log teaches."""
    opened, station = await opened_day(request), _station(request)
    record = await a_log(station, opened.id, number_of(request))
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
        if len(value) > LONGEST:
            raise Problem(422, "bad_parameter", f"{key} has at most {LONGEST} letters")
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
    if len(params.get("state", "")) > LONGEST or len(params.get("name", "")) > LONGEST:
        raise Problem(422, "bad_parameter", f"state and name have at most {LONGEST} letters")
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
    text = data["csv"] if given == ["csv"] else _text_of(questions.items(data, "rows"))
    if not isinstance(text, str):
        raise fault("csv", text, "is not a text")
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


def read_pads(data: Mapping[str, Any]) -> dict[str, str]:
    """By place the instrument under it.

    Raises
    ------
    Problem: it is not a table of names, or too long.
    """
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


def number_of(request: Request) -> int:
    """The number of a log or a row that the address names; 0 where that is not a number."""
    text: str = request.path_params["number"]
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


async def list_logs(request: Request) -> Response:
    """The logs of a day."""
    station = _station(request)
    logs = await station.run(station.store.logs, incoming.day_id(request))
    return answered(SweepLogsShape(tuple(_shape(log) for log in logs)))


def _shape(log: SweepRecord) -> SweepLogShape:
    about = {key: log.about[key] for key in ("state", "pads", "take", "rows", *OPTIONS) if key in log.about}
    return SweepLogShape(log.number, log.key, name_of(log), log.device, log.received.isoformat(), **about)


async def get_log(request: Request) -> Response:
    """A log as it was recorded or sent."""
    record = await a_log(_station(request), incoming.day_id(request), number_of(request))
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
    station, opened = _station(request), await opened_day(request)
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
    return answered(SweepNumberShape(kept, replay=not new), 201 if new else 200)


async def teach(request: Request) -> Response:
    """Keep what a log taught with the vehicle in the yard, as a new version of it.

    Raises
    ------
    Problem, DayFileError: it teaches nothing, or the yard has another vehicle of that name.
    """
    station, opened = _station(request), await opened_day(request)
    data = await incoming.read_object(request)
    questions.only(data, *OPTIONS)
    record = await a_log(station, opened.id, number_of(request))
    answer = await answer_of(station, opened, record, data)
    kept = await station.run(station.store.kept, Shelf.VEHICLE, answer.vehicle)
    text, learned = await station.run(in_yard, answer, kept, datetime.datetime.now(datetime.UTC).date())
    version = await station.shelve(Shelf.VEHICLE, answer.vehicle, text, learned, request.state.viewer.device)
    new = kept is None or version > kept.version
    return answered(VersionShape(answer.vehicle, version), 201 if new else 200)


def _sent_log() -> dict[str, Any]:
    """What the question takes; here the log may come as rows too, or by its number."""
    from steelyard.questions.sweep import SWEEP

    question = SWEEP.question_schema()
    rows = "Or the log row by row, each with `t` and a value for each place, named as in a CSV log."
    more = {
        "rows": {"type": "array", "items": {"type": "object"}, "description": rows},
        "log": {"type": "integer", "minimum": 1, "description": "Or the number of a log of the day."},
    }
    said = "A log, given once: as `rows`, `csv` or `log`; of a kept log the state is known."
    return {**question, "description": said, "properties": {**question["properties"], **more}, "required": []}


_SENT = (Written("SentLog", _sent_log), _CSV)
_OPTIONS_ASKED = tuple(Parameter(name, words) for name, words in _WORDS.items())
_CSV_ASKED = (
    Parameter("state", "Of a log sent as CSV: the state of the rig on the pads."),
    Parameter("pad", "Of a log sent as CSV: a place and its instrument, as in `tow/1L=p1`; again for each."),
    Parameter("name", "Of a log sent as CSV: what it is called."),
    *_OPTIONS_ASKED,
)
_TEACHES = {200: Given("What it teaches.", Reply("sweep"))}

_ASK = Told(
    "askSweep",
    "What a log of growing load teaches.",
    _TEACHES,
    takes=_SENT,
    more="As `steelyard sweep --json` prints it. Nothing is kept, so whoever may look may ask.",
    refuses=ASKS,
    parameters=_CSV_ASKED,
)
_LIST = Told("listSweeps", "The logs of a day.", {200: Given("All.", SweepLogsShape)}, refuses=(404,))
_KEEP = Told(
    "keepSweep",
    "Keep a log that was taken elsewhere.",
    kept(SweepNumberShape, "It was kept before."),
    takes=_SENT,
    more="Only one that teaches something. The same log again is kept once.",
    refuses=(404, *WRITES),
    parameters=_CSV_ASKED,
)
_LOG = Told("getSweepLog", "A log as it was recorded or sent.", {200: Given("The log.", _CSV)}, refuses=(404,))
_ANSWER = Told(*("getSweep", "What a kept log teaches.", _TEACHES), refuses=(404, 422), parameters=_OPTIONS_ASKED)
_TEACH = Told(
    "teachVehicle",
    "Keep what a log taught with the vehicle in the yard, as a new version of it.",
    kept(VersionShape, "It was known."),
    takes=SweepOptions,
    refuses=(404, *WRITES),
)

_LOGS = f"{API}/days/{{id}}/sweeps"

routes: list[BaseRoute] = [
    route("POST", f"{API}/days/{{id}}/sweep", sweep, may=May.LOOK, body=DAY, told=_ASK),
    route("GET", _LOGS, list_logs, may=May.LOOK, told=_LIST),
    route("POST", _LOGS, add_log, may=May.WEIGH, body=DAY, told=_KEEP),
    route("GET", f"{_LOGS}/{{number}}/log.csv", get_log, may=May.LOOK, told=_LOG),
    route("GET", f"{_LOGS}/{{number}}/answer", get_answer, may=May.LOOK, told=_ANSWER),
    route("POST", f"{_LOGS}/{{number}}/teach", teach, may=May.WEIGH, told=_TEACH),
]
