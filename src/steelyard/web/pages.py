"""The pages: what a browser asks for, and what it is shown."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import BaseRoute

from steelyard.web.problem import Problem

routes: list[BaseRoute] = []


async def show_problem(request: Request, problem: Problem) -> Response:
    """What went wrong, for a person."""
    del request
    return PlainTextResponse(problem.message, problem.status)
