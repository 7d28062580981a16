"""A day as it was when it got a seal: the ticket that carries the seal, and the file that was sealed."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from steelyard.web.http.problem import Problem
from steelyard.web.pages.bench.photos import ticket_displays, ticket_photos
from steelyard.web.pages.shell.filename import file_name
from steelyard.web.pages.shell.frame import download, station_of
from steelyard.web.station.sealing import SealedDay, sealed_day
from steelyard.web.station.station import Station


async def sealed_ticket(station: Station, day_id: str, number: int, *, paper: str) -> Response:
    """The ticket of a day as it was sealed, with the seal in it, and the photographs that the sealed day names."""
    from steelyard.dayfile import parse_day
    from steelyard.findings import weigh
    from steelyard.report.print.sealed import SealToPrint
    from steelyard.report.print.ticket import ticket_pdf

    found = await station.run(sealed_day, station.store, day_id, number)
    name = f"{day_id}.toml"
    day = await station.run(parse_day, found.text, name)
    photos, notes = await ticket_photos(station, day_id, day)
    small = await ticket_displays(station, day_id, day)
    printed = SealToPrint(found.seal, found.kept.findings, found.text.encode(), name)

    def made() -> bytes:
        return ticket_pdf(weigh(day), paper=paper, photos=photos, small=small, notes=notes, seal=printed)

    return download(await station.run(made), "application/pdf", file_name(day, "pdf", what=f"sealed-{number}"))


async def sealed_file(request: Request) -> Response:
    """The weigh-day file that a seal covers, byte for byte.

    Raises
    ------
    Problem: the day has no such seal.
    """
    station, text = station_of(request), request.path_params["number"]
    if not (text.isascii() and text.isdecimal() and len(text) < 7):
        raise Problem(404, "no_such_seal", f"the day has no seal {text[:40]!r}")
    found: SealedDay = await station.run(sealed_day, station.store, request.path_params["day"], int(text))
    return download(found.text.encode(), "application/toml", f"{request.path_params['day']}-sealed-{text}.toml")
