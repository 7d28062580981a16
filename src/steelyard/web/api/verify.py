"""Verifications for programs: a file judged as ``steelyard verify`` judges it, and kept in the yard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from steelyard.dayfile import parse_verification
from steelyard.questions.into_yard import IntoYard, YardError, keep_in_yard
from steelyard.store import Store
from steelyard.web.api.yard import VersionShape
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import DAY, May, route
from steelyard.web.http.told import WRITES, Given, Later, Told, answered, kept
from steelyard.web.settings import API
from steelyard.web.station.station import Station

_TOML = "application/toml"


@dataclass(frozen=True, slots=True)
class KeptVerificationShape:
    """A verification in the yard. It is on disk."""

    name: Annotated[str, "Its name in the addresses."]
    pads: Annotated[tuple[VersionShape, ...], "The newest version of each instrument that it tested."]


async def judge(request: Request) -> Response:
    """Judge a verification file; nothing is kept."""
    text = await incoming.read_text(request)
    return JSONResponse(await _station(request).run(_judged, text))


async def keep_verification(request: Request) -> Response:
    """Keep a verification, and each tested instrument as a new version.

    Raises
    ------
    Problem: the yard has another instrument of that name, or a later verification of it.
    """
    text, station = await incoming.read_text(request), _station(request)
    try:
        found = await station.run(_keep, station.store, text, request.state.viewer.device)
    except YardError as error:
        raise Problem(409, "conflict", str(error)) from None
    pads = tuple(VersionShape(name, version) for name, version in found.versions.items())
    return answered(KeptVerificationShape(found.name, pads), 201 if found.new else 200)


def _station(request: Request) -> Station:
    return request.state.station


def _judged(text: str) -> object:
    from steelyard.questions.verified import verification_data
    from steelyard.verification import verify

    return verification_data(verify(parse_verification(text, "verification")), file="verification")


def _keep(store: Store, text: str, device: str) -> IntoYard:
    from steelyard.verification import verify

    return keep_in_yard(store, verify(parse_verification(text, "verification")), text, device=device)


def _shape() -> type:
    from steelyard.questions.verified import VerificationShape

    return VerificationShape


_JUDGE = Told(
    "judgeVerification",
    "Judge a verification file.",
    {200: Given("As `steelyard verify --json` prints it.", Later(_shape))},
    takes=_TOML,
    more="Nothing is kept, so whoever may look may ask.",
    refuses=(400, 413, 422),
)
_KEEP = Told(
    "keepVerification",
    "Keep a verification file in the yard, and each instrument that it tested as a new version.",
    kept(KeptVerificationShape, "It was kept before; nothing was added."),
    takes=_TOML,
    more="As `steelyard verify --yard` keeps it. Other values that the yard has of an instrument stay.",
    refuses=WRITES,
)

routes: list[BaseRoute] = [
    route("POST", f"{API}/verify", judge, may=May.LOOK, body=DAY, told=_JUDGE),
    route("POST", f"{API}/yard/verifications", keep_verification, may=May.WEIGH, body=DAY, told=_KEEP),
]
