"""The interface for programs, where a day is asked: what if, how much more where, how much trailer, what to change.

Each answers what the command of that name prints with ``--json``.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from steelyard.dayfile import DayFileError, Part
from steelyard.model import WeighDay
from steelyard.questions import QUESTIONS
from steelyard.questions.form import beside, question_schema, read
from steelyard.store import Appended
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import Address, Handler, May, route
from steelyard.web.http.sessions import Viewer
from steelyard.web.http.told import WRITES, Told, Written, answered, kept, of_question
from steelyard.web.settings import API
from steelyard.web.station.book import OpenDay
from steelyard.web.station.refused import Refusal, RefusalError
from steelyard.web.station.station import Station

if TYPE_CHECKING:
    from steelyard.findings import Weighed


@dataclass(frozen=True, slots=True)
class KeptScenarioShape:
    """The state is on disk."""

    key: Annotated[str, "As sent."]
    name: Annotated[str, "Of the state."]
    number: Annotated[int, "Its place among the states of the file, from 1."]
    seq: Annotated[int, "Its place among the additions to the day."]
    replay: Annotated[bool, "Whether it was there before."]


_Question = Callable[["Weighed"], Any]


def asks(name: str) -> Handler:
    """The handler for a question of the registry; on a second question about the same day the day is already solved."""

    async def answer(request: Request) -> Response:
        station, day_id = _station(request), incoming.day_id(request)
        data = await incoming.read_object(request)
        opened = await station.day(day_id)
        entry = await station.run(QUESTIONS[name].load)
        file = f"{day_id}.toml"
        found = await asked(station, opened, lambda weighed: entry.asked(weighed, data, file=file), slow=entry.slow)
        return JSONResponse(found, headers={"etag": f'"{opened.seq}"'})

    answer.__name__ = name
    return answer


async def keep(request: Request) -> Response:
    """Keep a scenario as a state of the day, without drafts: a prediction. A key that is known already is a replay.

    Raises
    ------
    Problem: the key is that of another state. DayFileError: with every fault of the body.
    """
    station, day_id, device = _station(request), incoming.day_id(request), _device(request)
    data = await incoming.read_object(request)
    opened = await station.day(day_id)
    key, name = await station.run(_named, opened.day, data)
    known = await station.run(station.store.find, day_id, Part.STATE, f"{key} state")
    if known is not None:
        if list(opened.day.states)[known.number - 1] != name:
            raise Problem(409, "key_taken", f"the key {key!r} was used before for another state")
        return _kept(key, name, known)
    begun = await station.run(_begun, station, day_id, key, data)
    cargo, state = await station.run(sound, lambda: _to_keep(opened.day, begun))
    for item, values in cargo:
        await station.make_cargo(day_id, {"name": item, "key": _mark(key, item), **_titled(values)}, device)
    return _kept(key, name, await station.make_state(day_id, {"name": name, "key": f"{key} state", **state}, device))


def _kept(key: str, name: str, made: Appended) -> Response:
    shape = KeptScenarioShape(key, name, made.number, made.seq, made.replay)
    return answered(shape, 200 if made.replay else 201)


def _mark(key: str, item: str) -> str:
    """The key of the new cargo of a kept scenario."""
    return f"{key} {hashlib.sha256(item.encode()).hexdigest()[:16]}"


def _begun(station: Station, day_id: str, key: str, data: Mapping[str, Any]) -> dict[str, Any]:
    """The scenario with the cargo that an attempt cut short has left in the day already."""
    there: list[str] = []
    rest: list[Any] = []
    for item in _listed(data.get("add")):
        name: Any = item.get("name") if isinstance(item, dict) else None  # pyright: ignore[reportUnknownVariableType, reportUnknownMemberType]
        if isinstance(name, str) and station.store.find(day_id, Part.CARGO, _mark(key, name)) is not None:
            there.append(name)
        else:
            rest.append(item)
    return {**data, "add": rest, "put_on": [*_listed(data.get("put_on")), *there]} if there else dict(data)


def _listed(value: Any) -> list[Any]:
    """A list as it is, anything else as an empty one."""
    return list(value) if isinstance(value, list) else []  # pyright: ignore[reportUnknownArgumentType]


def _named(day: WeighDay, data: Mapping[str, Any]) -> tuple[str, str]:
    """The key and the name of a scenario; its other values are looked at only where one of these has a fault.

    Raises
    ------
    DayFileError: with every fault of the body.
    """
    from steelyard.questions.scenario import KeptScenarioQuestion, ScenarioMark

    own, _ = beside(ScenarioMark, data)
    try:
        mark = read(ScenarioMark, day, own, source="request")
    except DayFileError:
        read(KeptScenarioQuestion, day, data, source="request")
        raise
    return mark.key, mark.name


def _to_keep(day: WeighDay, data: Mapping[str, Any]) -> tuple[list[tuple[str, dict[str, Any]]], dict[str, Any]]:
    from steelyard.questions.scenario import KeptScenarioQuestion
    from steelyard.questions.what_if import kept

    return kept(day, read(KeptScenarioQuestion, day, data, source="request"))


def _titled(values: Mapping[str, Any]) -> dict[str, Any]:
    """Cargo as ``make_cargo`` takes it: the name for people is its title there."""
    return {("title" if key == "name" else key): value for key, value in values.items()}


def _station(request: Request) -> Station:
    return request.state.station


def _device(request: Request) -> str:
    viewer: Viewer | None = request.state.viewer
    return "" if viewer is None else viewer.device


async def asked(station: Station, opened: OpenDay, question: _Question, *, slow: bool = False) -> Any:
    """The answer to a question about a day.

    Raises
    ------
    RefusalError: the day does not allow this question.
    """
    return await station.asker.ask(opened, lambda weighed: sound(lambda: question(weighed)), slow=slow)


def sound(question: Callable[[], Any]) -> Any:
    """The answer of ``question``.

    Raises
    ------
    RefusalError: the day does not allow this question.
    """
    from steelyard.loading import ScenarioError

    try:
        return question()
    except ScenarioError as error:
        raise RefusalError(Refusal.CANNOT_BE, str(error)) from error


# ---- questions ----


def _kept_scenario() -> dict[str, Any]:
    """The schema of a scenario, and of the key under which it is kept."""
    from steelyard.questions.scenario import KeptScenarioQuestion

    return question_schema(KeptScenarioQuestion)


_KEEP = Told(
    "keepWhatIf",
    "Keep a scenario as a state of the day without drafts: a prediction.",
    kept(KeptScenarioShape, "It was kept before; nothing was added."),
    takes=Written("KeepScenario", _kept_scenario),
    more="What was put on becomes cargo of the day.",
    refuses=(404, *WRITES),
)

_DAY = f"{API}/days/{{id}}"


def _asking(name: str, operation: str, *, command: str = "") -> BaseRoute:
    """The address of a question of the registry."""
    told = of_question(operation, name, command=command)
    return route("POST", f"{_DAY}/{name}", asks(name), may=May.LOOK, told=told)


routes: list[BaseRoute] = [
    _asking("whatif", "askWhatIf", command="whatif"),
    route("POST", f"{_DAY}/whatif/keep", keep, may=May.WEIGH, told=_KEEP),
    _asking("influence", "askInfluence"),
    _asking("loadmap", "askLoadMap"),
    _asking("trailer", "askTrailer", command="trailer"),
    _asking("rebalance", "askRebalance", command="rebalance"),
    _asking("distribute", "askDistribution", command="distribute"),
    _asking("ledger", "askLedger", command="ledger"),
    _asking("rules", "askRules", command="rules"),
]

ASKED: tuple[str, ...] = tuple(
    item.path.removeprefix(f"{_DAY}/") for item in routes if isinstance(item, Address) and item.may is May.LOOK
)
"""Names of the questions that have an address, in the order of the addresses; a page links to these."""
