"""The interface for programs, where a rig is learned: logs of growing load sent, fitted and kept.

``/sweep`` answers what ``steelyard sweep --json`` prints. Logs are recorded in ``recordings``.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from steelyard.model import WeighDay
from steelyard.questions.form import question_schema, read, refusal
from steelyard.questions.kinds import Text, Whole
from steelyard.questions.shape import OMIT, Also, Omit
from steelyard.store import LARGEST_SWEEP, Shelf, SweepRecord
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
    from steelyard.questions.sweep import SweepAnswer, SweepQuestion

_CSV = "text/csv"

_WORDS = {
    "on": "The vehicle that was loaded; else the towing one.",
    "at": 'Where the load was put: a coupling of it, or two lengths as in `"222 in, 0 in"`.',
    "height_division": "Step in which heights were read; 1 mm where left out.",
}

PADS_SENT = 'What stands under each place, as in `{"tow/1L": "p1"}`; else as the day\'s drafts say.'


@dataclass(frozen=True, slots=True)
class SweepOptions:
    """Statements about a log; those left out are as when it was kept."""

    on: Annotated[str, Text(_WORDS["on"])] = ""
    at: Annotated[str, Text(_WORDS["at"])] = ""
    height_division: Annotated[str, Text(_WORDS["height_division"])] = ""

    @property
    def said(self) -> dict[str, str]:
        """The options that are given; an empty text counts as left out."""
        return {key: value for key in OPTIONS if (value := getattr(self, key))}


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptLog(SweepOptions):
    """A log of the day that was kept, and what is said of it anew."""

    log: Annotated[int, Whole("Or the number of a log of the day.", 1, 10**9 - 1)]


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
    pads: Annotated[Mapping[str, str] | Omit, PADS_SENT] = OMIT
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
    """The quantities that a log teaches; nothing is kept."""
    opened, station = await opened_day(request), _station(request)
    asked, said = await _asked(request, opened)
    if isinstance(asked, KeptLog):
        answer = await answer_of(station, opened, await a_log(station, opened.id, asked.log), said)
    else:
        answer = await station.sweeper.ask(opened.day, asked)
    return JSONResponse(await station.run(_data, opened, answer))


async def get_answer(request: Request) -> Response:
    """The quantities that a kept log teaches."""
    opened, station = await opened_day(request), _station(request)
    record = await a_log(station, opened.id, number_of(request))
    answer = await answer_of(station, opened, record, query_options(request))
    return JSONResponse(await station.run(_data, opened, answer), headers=_named(f"sweep-{record.number}.json"))


def _data(opened: OpenDay, answer: SweepAnswer) -> dict[str, Any]:
    from steelyard.questions.sweep import SWEEP

    return SWEEP.data(answer, file=f"{opened.id}.toml")


def _question(day: WeighDay, data: Mapping[str, Any]) -> SweepQuestion:
    """The question; an empty text counts as left out.

    Raises
    ------
    DayFileError: with every fault of the question. Problem: the log is too large to be kept.
    """
    from steelyard.questions.sweep import SWEEP

    question = SWEEP.read(day, {key: value for key, value in data.items() if value != ""}, "question", {})
    if len(question.log) > LARGEST_SWEEP or b"\0" in question.log:
        raise Problem(413, "too_large", f"a log is text of at most {LARGEST_SWEEP / 1e6:g} MB")
    return question


async def answer_of(station: Station, opened: OpenDay, record: SweepRecord, options: Mapping[str, Any]) -> SweepAnswer:
    """The quantities that a kept log teaches about its day as it is now; ``options`` replace those kept with the log.

    Raises
    ------
    Problem, DayFileError: the log teaches nothing.
    """
    said = {key: record.about[key] for key in ("state", "pads", *OPTIONS) if key in record.about}
    asked = {**said, **options, "csv": record.text, "name": name_of(record)}
    question = await station.run(_question, opened.day, asked)
    return await station.sweeper.ask(opened.day, question, opened.id, opened.seq, record.number)


def name_of(record: SweepRecord) -> str:
    """The name of a log."""
    return str(record.about.get("name") or f"log {record.number}")


def query_options(request: Request) -> dict[str, str]:
    """The options of a log in the query of the address."""
    return {key: request.query_params[key] for key in OPTIONS if request.query_params.get(key)}


async def _asked(request: Request, opened: OpenDay) -> tuple[SweepQuestion | KeptLog, dict[str, Any]]:
    """The question of a body, and its options as they were sent: a log as CSV, or JSON with a log or the number of one.

    Raises
    ------
    Problem, DayFileError: it is none.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind == "application/json":
        data = await incoming.read_object(request)
        if data.get("log") is not None:
            kept = read(KeptLog, opened.day, data, source="question")
            return kept, kept.said
    else:
        params = request.query_params
        said = {key: params[key] for key in ("state", "name") if key in params}
        text = await incoming.read_text(request)
        data = {**said, "pads": params.getlist("pad"), **query_options(request), "csv": text}
    options = {key: data[key] for key in OPTIONS if data.get(key) not in (None, "")}
    return await _station(request).run(_question, opened.day, data), options


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


async def add_log(request: Request) -> Response:
    """Keep a log that was taken elsewhere; only one that teaches something.

    Raises
    ------
    Problem, DayFileError: it has a fault, or teaches nothing.
    """
    station, opened = _station(request), await opened_day(request)
    asked, said = await _asked(request, opened)
    if isinstance(asked, KeptLog):
        raise refusal("log", asked.log, "is kept already")
    answer = await station.sweeper.ask(opened.day, asked)
    text = asked.log.decode()
    about: dict[str, Any] = {
        "state": answer.state,
        "pads": dict(asked.pads or {}),
        "rows": answer.samples,
        "name": answer.file,
        **said,
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
    options = await incoming.read_body(request, SweepOptions, opened.day)
    record = await a_log(station, opened.id, number_of(request))
    answer = await answer_of(station, opened, record, options.said)
    kept = await station.run(station.store.kept, Shelf.VEHICLE, answer.vehicle)
    text, learned = await station.run(in_yard, answer, kept, datetime.datetime.now(datetime.UTC).date())
    version = await station.shelve(Shelf.VEHICLE, answer.vehicle, text, learned, request.state.viewer.device)
    new = kept is None or version > kept.version
    return answered(VersionShape(answer.vehicle, version), 201 if new else 200)


def _sent_log() -> dict[str, Any]:
    """The schema of the question; here the log may come by its number too."""
    from steelyard.questions.sweep import SWEEP

    question = SWEEP.question_schema()
    said = "A log, given once: as `rows`, `csv` or `log`; of a kept log the state is known."
    properties = {**question["properties"], "log": question_schema(KeptLog)["properties"]["log"]}
    return {**question, "description": said, "properties": properties, "required": []}


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
