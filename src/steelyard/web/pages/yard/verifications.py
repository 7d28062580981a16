"""Addresses of verifications: the walk at the pads, and the record, the file and the print of one that was kept."""

from __future__ import annotations

import datetime

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.store import Kept, Shelf
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.pages.shell.frame import download, render, station_of, to_of
from steelyard.web.pages.yard.verified import record_page, verify_page
from steelyard.web.station.yard import listed


async def verify_walk(request: Request) -> Response:
    """The page that walks a verification."""
    station = station_of(request)
    pads = await station.run(listed, station.store, Shelf.INSTRUMENT)
    kept = await station.run(station.store.shelf, Shelf.VERIFICATION)
    today = datetime.datetime.now(datetime.UTC).date()
    page = await station.run(verify_page, pads, kept, today, to_of(request))
    return render(request, "verify.html", page, here="yard")


async def verification(request: Request) -> Response:
    """The record of a verification."""
    kept = await _kept(request)
    page = await station_of(request).run(record_page, kept, to_of(request))
    return render(request, "verification.html", page, here="yard")


async def verification_file(request: Request) -> Response:
    """The file of a verification, as it came."""
    kept = await _kept(request)
    return download(kept.text.encode(), "application/toml", f"{kept.name}.toml")


async def verification_record(request: Request) -> Response:
    """The record of a verification to print, as ``steelyard verify --record`` writes it."""
    kept = await _kept(request)
    paper = "a4" if request.query_params.get("paper") == "a4" else "letter"
    return download(await station_of(request).run(_pdf, kept, paper), "application/pdf", f"{kept.name}.pdf")


def _pdf(kept: Kept, paper: str) -> bytes:
    from steelyard.dayfile import parse_verification
    from steelyard.report.print.verification import verification_pdf
    from steelyard.verification import verify

    return verification_pdf(verify(parse_verification(kept.text, kept.name)), paper=paper)


async def _kept(request: Request) -> Kept:
    """The verification that the address names.

    Raises
    ------
    Problem: the yard has none of that name.
    """
    station, name = station_of(request), request.path_params["name"]
    kept = await station.run(station.store.kept, Shelf.VERIFICATION, name)
    if kept is None:
        raise Problem(404, "not_in_the_yard", f"the yard has no verification {name[:40]!r}")
    return kept


routes: list[BaseRoute] = [
    route("GET", "/yard/verify", verify_walk, may=May.LOOK),
    route("GET", "/yard/verifications/{name}", verification, may=May.LOOK),
    route("GET", "/yard/verifications/{name}/check.toml", verification_file, may=May.LOOK),
    route("GET", "/yard/verifications/{name}/record.pdf", verification_record, may=May.LOOK),
]
