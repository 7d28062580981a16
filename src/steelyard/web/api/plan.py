"""The interface for programs, where a day is planned: the drafts to take, and what they reached."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import Coroutine, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from steelyard.model import WeighDay
from steelyard.questions.form import beside, question_schema, read, refusal
from steelyard.questions.kinds import Flag, Text
from steelyard.questions.shape import Also
from steelyard.store import Shelf, Store
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.http.sessions import Viewer
from steelyard.web.http.told import ASKS, Given, Parameter, Reply, Told, Written, answered
from steelyard.web.settings import API
from steelyard.web.station.failed import foreseen
from steelyard.web.station.plan_aside import LONGEST
from steelyard.web.station.station import Station

if TYPE_CHECKING:
    from steelyard.questions.plan import PlanQuestion

_Whole = Annotated[int, Also(minimum=0)]
_LONGEST_KEY = 100


@dataclass(frozen=True, slots=True)
class KeptPlanShape:
    """The plan of a day as it was kept last."""

    version: Annotated[_Whole, "Each further plan of the day is one more."]
    saved: Annotated[str, "When it was kept."]
    after: Annotated[_Whole, "How many drafts the day had when it was made: the following drafts are compared with it."]
    question: Annotated[Mapping[str, Any], "As it was asked."]
    answer: Annotated[Mapping[str, Any], "The plan, as `POST` answered it."]


@dataclass(frozen=True, slots=True)
class PlanProgressShape:
    """How far a plan is."""

    running: Annotated[bool, "Whether a plan of that key is being made."]
    cost: Annotated[float | None, "Of the best plan so far; null where there is none yet."]
    bound: Annotated[float, "No plan costs less."]


@dataclass(frozen=True, slots=True)
class ReachedDraftShape:
    """How narrow the wanted findings were as of one draft."""

    draft: Annotated[int, "Its number."]
    half_width: Annotated[Mapping[str, float | None], "By id of the finding; null: not determined."]


@dataclass(frozen=True, slots=True)
class PlanReachedShape:
    """Half-widths reached by the drafts taken since the plan was made; the first twelve of them."""

    version: Annotated[_Whole, "Of the plan."]
    after: Annotated[_Whole, "As in the plan."]
    reached: tuple[ReachedDraftShape, ...]


@dataclass(frozen=True, slots=True)
class PlanKey:
    """Which plan."""

    key: Annotated[str, Text("As it was sent.", _LONGEST_KEY)]


@dataclass(frozen=True, slots=True)
class PlanKeeping:
    """Whether and how a plan that is asked for is kept."""

    keep: Annotated[bool, Flag("Keep it for every device; needs the role that may weigh.")] = False
    key: Annotated[
        str, Text("What the plan is asked about by while it is being made.", _LONGEST_KEY, printable=True)
    ] = ""


@dataclass(frozen=True, slots=True)
class StoppedShape:
    """The search was asked to end."""

    told: bool


_LARGEST = 60_000  # bytes of a plan on its shelf
_MOST_REACHED = 12  # drafts after which it is said what they reached


async def make_plan(request: Request) -> Response:
    """The drafts to take next.

    Raises
    ------
    Problem: the day cannot be planned so, or no plan came in time.
    """
    station, day_id = _station(request), incoming.day_id(request)
    own, asked = beside(PlanKeeping, await incoming.read_object(request))
    opened = await station.day(day_id)
    keeping = read(PlanKeeping, opened.day, own, source="request")
    keep, key = keeping.keep, keeping.key or secrets.token_hex(8)
    viewer: Viewer | None = request.state.viewer
    if keep and (viewer is None or not viewer.may_weigh):
        raise Problem(403, "forbidden", "this device may look and not keep a plan; leave out keep")
    question, said = await station.run(_question, opened.day, asked)
    answer = await _planned(station, f"{day_id}/{key}", opened.day, question, f"{day_id}.toml")
    if keep and answer["status"] in ("optimal", "feasible"):
        kept = {"after": len(opened.day.drafts), "question": said, "answer": answer}
        device = "" if viewer is None else viewer.device
        await station.run(keep_plan, station.store, day_id, kept, device)
        station.hub.tell(day_id, "plan", {"after": kept["after"], "drafts": len(answer["drafts"])})
    return JSONResponse(answer, headers={"etag": f'"{opened.seq}"'})


async def _planned(station: Station, key: str, day: WeighDay, question: PlanQuestion, file: str) -> dict[str, Any]:
    run = station.planners.begin(key)
    loop = asyncio.get_running_loop()
    try:
        return await loop.run_in_executor(station.planners.pool, station.planners.plan, run, day, question, file)
    except asyncio.CancelledError:
        run.stop()
        raise


def _question(day: WeighDay, data: Mapping[str, Any]) -> tuple[PlanQuestion, dict[str, Any]]:
    """The question, and the same as JSON, to be kept with the plan.

    Raises
    ------
    DayFileError: with every fault of the question. Problem: it would take too long here.
    """
    from steelyard.questions.plan import PLAN
    from steelyard.questions.shape import to_json

    question = PLAN.read(day, data, "question", {})
    if question.seconds > LONGEST:
        raise refusal("seconds", data["seconds"], f"is too long for a station; the search takes {LONGEST:g} s at most")
    return question, to_json(question)


def keep_plan(store: Store, day_id: str, kept: Mapping[str, Any], device: str) -> None:
    """A further version of the plan of a day; what is too long for its shelf goes without what more would buy."""
    text = json.dumps(kept, allow_nan=False, separators=(",", ":"))
    if len(text.encode()) > _LARGEST:
        text = json.dumps({**kept, "answer": {**kept["answer"], "what_more": []}}, separators=(",", ":"))
    store.save(Shelf.PLAN, day_id, text, device=device)


def kept_plan(store: Store, day_id: str) -> dict[str, Any] | None:
    """The plan of a day as it was kept last; None where there is none. Waits for the database."""
    kept = store.kept(Shelf.PLAN, day_id)
    if kept is None:
        return None
    try:
        return {"version": kept.version, "saved": kept.saved.isoformat(), **json.loads(kept.text)}
    except ValueError:
        return None


async def get_plan(request: Request) -> Response:
    """The plan that was kept.

    Raises
    ------
    Problem: there is none.
    """
    return JSONResponse(await _kept(request))


async def _kept(request: Request) -> dict[str, Any]:
    station, day_id = _station(request), incoming.day_id(request)
    await station.day(day_id)
    kept = await station.run(kept_plan, station.store, day_id)
    if kept is None:
        raise Problem(404, "no_plan", "no plan of this day was kept; make one first")
    return kept


async def get_progress(request: Request) -> Response:
    """How far a plan is that is being made."""
    station, day_id = _station(request), incoming.day_id(request)
    await station.day(day_id)
    run = station.planners.run(f"{day_id}/{request.query_params.get('key', '')}")
    progress = {} if run is None else run.progress
    return answered(PlanProgressShape(run is not None, progress.get("cost"), progress.get("bound", 0.0)))


async def enough(request: Request) -> Response:
    """The best plan so far will do.

    Raises
    ------
    Problem: no plan of that key is being made.
    """
    station, day_id = _station(request), incoming.day_id(request)
    opened = await station.day(day_id)
    sent = await incoming.read_body(request, PlanKey, opened.day)
    run = station.planners.run(f"{day_id}/{sent.key}")
    if run is None:
        raise Problem(404, "no_plan", "no plan of that key is being made")
    run.stop()
    return answered(StoppedShape(told=True))


async def get_reached(request: Request) -> Response:
    """Half-widths reached by the drafts taken since the plan was made, draft by draft."""
    kept = await _kept(request)
    station = _station(request)
    opened = await station.day(incoming.day_id(request))
    after, count = int(kept["after"]), len(opened.day.drafts)
    wanted = [item["id"] for item in kept["answer"]["expected"]]
    numbers = range(after + 1, count + 1)[:_MOST_REACHED]
    what = "what the plan has reached"

    def reached_by(number: int) -> Coroutine[Any, Any, dict[str, float | None]]:
        return station.run(_reached, station, opened.day, number, wanted)

    reached = tuple([ReachedDraftShape(number, await foreseen(what, reached_by(number))) for number in numbers])
    return answered(PlanReachedShape(kept["version"], after, reached))


def _reached(station: Station, day: WeighDay, count: int, wanted: list[str]) -> dict[str, float | None]:
    """Half-widths of the wanted findings as of so many drafts, in the day's units; None: not determined."""
    from steelyard.findings import weigh
    from steelyard.questions.findings import findings_data

    corrections = tuple(item for item in day.corrections if item.draft <= count)
    earlier = replace(day, drafts=day.drafts[:count], corrections=corrections)
    asides = station.reckoner.asides
    found = findings_data(weigh(earlier) if asides is None else asides.weigh(earlier), file="day")
    by_id = {item["id"]: item for item in found["findings"]}
    return {name: _half(by_id.get(name)) for name in wanted}


def _half(item: Mapping[str, Any] | None) -> float | None:
    return None if item is None or not item["determined"] else (item["high"] - item["low"]) / 2.0


def _station(request: Request) -> Station:
    return request.state.station


def _to_send() -> dict[str, Any]:
    """The schema of a plan's body: the question, how long it may take, and whether and under which key it is kept."""
    from steelyard.questions.plan import PLAN

    asked = PLAN.question_schema()
    properties: dict[str, Any] = asked["properties"]
    seconds = {**properties["seconds"], "maximum": LONGEST}
    return {**asked, "properties": {**properties, "seconds": seconds, **question_schema(PlanKeeping)["properties"]}}


_MAKE = Told(
    "planDay",
    "The drafts to take next, in order, and where each pad goes.",
    {200: Given("The answer.", Reply("plan"))},
    takes=Written("PlanQuestion", _to_send),
    more="As `steelyard plan --json` prints it, an impossible wish too. Whoever may look may ask; keeping it takes the "
    "role that may weigh.",
    refuses=(*ASKS, 403, 503, 504, 507),
)
_GET = Told(
    *("getPlan", "The plan of the day that was kept last.", {200: Given("The answer.", KeptPlanShape)}), refuses=(404,)
)
_PROGRESS = Told(
    "planProgress",
    "How far a plan is that is being made.",
    {200: Given("The answer.", PlanProgressShape)},
    refuses=(404,),
    parameters=(Parameter("key", "Of the plan."),),
)
_ENOUGH = Told(
    "planEnough",
    "End the search: the best plan so far will do.",
    {200: Given("The answer.", StoppedShape)},
    takes=PlanKey,
    refuses=ASKS,
)
_REACHED = Told(
    "planReached",
    "What the drafts since the plan have reached.",
    {200: Given("The answer.", PlanReachedShape)},
    refuses=(404, 422, 503),
)

_PLAN = f"{API}/days/{{id}}/plan"

routes: list[BaseRoute] = [
    route("POST", _PLAN, make_plan, may=May.LOOK, told=_MAKE),
    route("GET", _PLAN, get_plan, may=May.LOOK, told=_GET),
    route("GET", f"{_PLAN}/progress", get_progress, may=May.LOOK, told=_PROGRESS),
    route("POST", f"{_PLAN}/enough", enough, may=May.LOOK, told=_ENOUGH),
    route("GET", f"{_PLAN}/reached", get_reached, may=May.LOOK, told=_REACHED),
]
