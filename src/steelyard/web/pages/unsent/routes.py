"""A day that was begun without the station: its page, which a device keeps, and its way into the store."""

from __future__ import annotations

import datetime

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.dayfile import Fault
from steelyard.model import WeighDay
from steelyard.web.api.days import NewDayShape
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.http.told import answered
from steelyard.web.pages.days.new import AnswersError
from steelyard.web.pages.days.routes import keep_answers
from steelyard.web.pages.pads.page import pads_page
from steelyard.web.pages.shell.frame import render, to_of

UNSENT = "unsent-KEY"
"""The day of a page that is not filled yet; its script puts the key of the answers there. No day has a hyphen."""


async def unsent(request: Request) -> Response:
    """A day at the pads with nothing in it, the same for every device: its script fills it from what is kept there."""
    page = pads_page(UNSENT, WeighDay(title="New rig"), to=to_of(request), seq=0, may_weigh=True)
    data = {**page.data, "plan": None, "live": False}
    return render(request, "unsent.html", type(page)(page.id, page.title, "\N{HORIZONTAL ELLIPSIS}", (), (), data))


async def unsent_day(request: Request) -> Response:
    """The same page at the address of one of them."""
    return await unsent(request)


async def make_unsent(request: Request) -> Response:
    """Make a day of answers that a device kept, as of the day ``on`` which they were given; the same ``key`` once.

    Raises
    ------
    Problem: the answers make no rig; its faults by field. DayFileError: the rig cannot be.
    """
    sent = await incoming.read_object(request)
    values = {name: value for name, value in sent.items() if isinstance(value, str)}
    if not values.get("key"):
        raise Problem(422, "faults", "the answers have no key", faults=(Fault(None, "key", "", "is needed"),))
    try:
        day_id = await keep_answers(request, values, _on(values.get("on", "")))
    except AnswersError as error:
        faults = tuple(Fault(None, name, "", words) for name, words in error.faults.items())
        raise Problem(422, "faults", str(error), faults=faults) from None
    return answered(NewDayShape(day_id), 201)


def _on(text: str) -> datetime.date:
    """The day on which the answers were given; today where it is none or lies ahead."""
    today = datetime.datetime.now(datetime.UTC).date()
    try:
        return min(datetime.date.fromisoformat(text), today)
    except ValueError:
        return today


routes: list[BaseRoute] = [
    route("GET", "/days/unsent/pads", unsent, may=May.ANYONE),
    route("GET", "/days/unsent-{key}/pads", unsent_day, may=May.ANYONE),
    route("POST", "/days/unsent/pads", make_unsent, may=May.WEIGH),
]
