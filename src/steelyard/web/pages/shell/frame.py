"""Every page in its frame: templates, what a device may do, what went wrong in words, files to download."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from steelyard.web.http.problem import Problem
from steelyard.web.pages.shell.contracts import Frame, MessagePage, To
from steelyard.web.pages.shell.filename import disposition
from steelyard.web.pages.shell.files import template_folders, version
from steelyard.web.station.station import Station


@cache
def _templates() -> Environment:
    loader = FileSystemLoader(template_folders())
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)


_FOR_ANYONE = ("offline.html", "unsent.html")  # pages that every device keeps for the time without the station


def render(request: Request, template: str, page: Any, *, here: str = "days", status: int = 200) -> HTMLResponse:
    """One page from its contract; in a template ``to`` makes the path of an address from its handler's name."""
    viewer = getattr(request.state, "viewer", None)
    stranger = viewer is None and template not in _FOR_ANYONE
    paired = viewer is not None and bool(viewer.device_id)
    weighs = may_weigh(request) or template == "unsent.html"
    frame = Frame(here, weighs, version(), stranger=stranger, paired=paired)
    text = _templates().get_template(template).render(page=page, frame=frame, to=to_of(request))
    return HTMLResponse(text, status)


def to_of(request: Request) -> To:
    """Makes a path from the name of a handler, as ``to`` in a template does."""
    return request.app.state.path_of


def station_of(request: Request) -> Station:
    """The station that the handlers work with."""
    return request.state.station


def may_weigh(request: Request) -> bool:
    """Whether the page may offer to keep something: a browser on this machine gets its session with this very page."""
    viewer = getattr(request.state, "viewer", None)
    return viewer is not None and (viewer.may_weigh or viewer.here)


def is_here(request: Request) -> bool:
    """Whether the browser sits on the machine that runs the station."""
    viewer = getattr(request.state, "viewer", None)
    return viewer is not None and viewer.here


async def show_problem(request: Request, problem: Problem) -> Response:
    """The page that explains a problem to a person."""
    titles = {
        404: "Nothing here",
        401: "Not paired",
        403: "Not allowed",
        421: "Another name",
        503: "The station cannot do that now",
        504: "Still being worked out",
        507: "The disk of the station is full",
    }
    title = titles.get(problem.status, "That did not work")
    faults = tuple(fault_words(fault.line, fault.path, fault.message) for fault in problem.faults)
    said = problem.message[:1].upper() + problem.message[1:]
    again = request.url.path if request.method == "GET" and problem.status in (503, 504, 507) else ""
    page = MessagePage(title, said if said.endswith(".") else f"{said}.", faults, again)
    return render(request, "message.html", page, status=problem.status)


def fault_words(line: int | None, path: str, message: str) -> str:
    """One thing wrong, with its place."""
    where = "" if line is None else f"Line {line}: "
    return f"{where}{path}{' ' if path else ''}{message}"


def download(body: bytes, media_type: str, name: str) -> Response:
    """A file that the browser keeps under its name."""
    return Response(body, media_type=media_type, headers={"content-disposition": disposition(name)})
