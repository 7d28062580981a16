"""The interface for programs, where several days are asked together: which rig does it best, and who may tow what.

Each answers what the command of that name prints with ``--json``; the file of a day has the name of the day.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from steelyard.questions import QUESTIONS
from steelyard.questions.form import question_schema, refusal
from steelyard.web.api.ask import sound
from steelyard.web.http import incoming
from steelyard.web.http.routes import Handler, May, route
from steelyard.web.http.told import ASKS, Given, Reply, Told, Written
from steelyard.web.settings import API
from steelyard.web.station.book import OpenDay
from steelyard.web.station.station import Station

if TYPE_CHECKING:
    from steelyard.findings import Weighed

MOST_DAYS = 60
"""Days that are asked together: more of them go to the command line."""


def asks_together(name: str) -> Handler:
    """The handler for a question of the registry that is asked of several days."""

    async def answer(request: Request) -> Response:
        station: Station = request.state.station
        data = await incoming.read_object(request)
        days = await opened(station, _named(data.pop("days", None)))
        entry = await station.run(QUESTIONS[name].load)
        files = [f"{day.id}.toml" for day in days]

        def question(weighed: Sequence[Weighed]) -> dict[str, Any]:
            return sound(lambda: entry.asked_together(list(zip(files, weighed, strict=True)), data))

        return JSONResponse(await station.asker.ask_all(days, question))

    answer.__name__ = f"{name}_days"
    return answer


async def opened(station: Station, names: Sequence[str]) -> list[OpenDay]:
    """The days of some names, in that order; raises what ``Station.day`` raises."""
    return [await station.day(name) for name in names]


def _named(value: Any) -> list[str]:
    """The names of the days, each once.

    Raises
    ------
    DayFileError: they are no list of names, or too few or too many.
    """
    given: list[Any] = list(value) if isinstance(value, list) else []  # pyright: ignore[reportUnknownArgumentType]
    if not given or not all(isinstance(item, str) for item in given):
        raise refusal("days", value, 'must be a list of days, as in ["3f9k2m", "8c4t1x"]')
    names = list(dict.fromkeys(given))
    if len(names) > MOST_DAYS:
        raise refusal("days", len(names), f"names too many days: at most {MOST_DAYS} are asked together")
    return names


def _together(name: str, operation: str) -> BaseRoute:
    def schema() -> Mapping[str, Any]:
        asked: Mapping[str, Any] = question_schema(QUESTIONS[name].load().question)
        days = {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": MOST_DAYS}
        properties = {"days": {**days, "description": "Days, by their ids."}, **asked["properties"]}
        return {**asked, "properties": properties, "required": ["days", *asked.get("required", ())]}

    told = Told(
        operation,
        QUESTIONS[name].summary,
        {200: Given("The answer.", Reply(name))},
        takes=Written(f"{name.capitalize()}Days", schema),
        more=f"As `steelyard {name} --json` prints it. It changes nothing, so whoever may look may ask.",
        refuses=ASKS,
    )
    return route("POST", f"{API}/{name}", asks_together(name), may=May.LOOK, told=told)


routes: list[BaseRoute] = [_together("compare", "compareDays"), _together("match", "matchDays")]
