"""Files that a browser keeps and asks for by itself: the offline page, the service worker, the icon."""

from __future__ import annotations

import json

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.web.http.routes import May, route
from steelyard.web.pages.shell.contracts import MessagePage
from steelyard.web.pages.shell.files import addresses_asked_for, script_as_sent, version
from steelyard.web.pages.shell.frame import render, to_of


async def offline(request: Request) -> Response:
    """The page shown, without the station, in place of a page that this device never loaded."""
    return render(request, "offline.html", MessagePage("", ""))


async def service_worker(request: Request) -> Response:
    """The service worker, at the root so that it may serve every page, with the list of what it keeps at hand."""
    text = script_as_sent("sw.js")
    to = to_of(request)
    pages = {"offline": to("offline"), "home": to("home"), "new": to("new"), "unsent": to("unsent")}
    shell = [pages["offline"], pages["unsent"], *addresses_asked_for()]
    text = text.replace("SHELL_FILES", json.dumps(shell)).replace("STATION_PAGES", json.dumps(pages))
    text = text.replace("station-VERSION", f"station-{version()}")
    return Response(text, media_type="text/javascript")


async def favicon(request: Request) -> Response:
    """Browsers ask for it whatever the page says."""
    del request
    return RedirectResponse("/static/icon.svg", 308)


routes: list[BaseRoute] = [
    route("GET", "/offline", offline, may=May.ANYONE),
    route("GET", "/sw.js", service_worker, may=May.ANYONE),
    route("GET", "/favicon.ico", favicon, may=May.ANYONE, plain=True),
]
