"""Photographs of displays: kept with the digest of their bytes in the text of the day, listed, and shown."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.model import Photograph
from steelyard.questions.shape import Also
from steelyard.store import Photo
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import PHOTO, May, route
from steelyard.web.http.sessions import Viewer
from steelyard.web.http.told import TEXT, WRITES, Given, Parameter, Told, answered, kept
from steelyard.web.settings import API
from steelyard.web.station.photographs import TakenPhoto
from steelyard.web.station.station import Station

PICTURES = ("image/jpeg", "image/png", "image/webp")
"""Media types of photographs."""

_DIGEST = re.compile(r"[0-9a-f]{64}")
_Digest = Annotated[str, "SHA-256 of the bytes as they were sent.", Also(pattern="^[0-9a-f]{64}$")]


@dataclass(frozen=True, slots=True)
class PhotographShape:
    """The record of a photograph, as the file of the day has it."""

    number: Annotated[int, "Its place among the photographs of the day, from 1.", Also(minimum=1)]
    draft: Annotated[int, "Number of the draft that it shows.", Also(minimum=1)]
    place: Annotated[str | None, "The place whose display it shows; null where it shows the whole draft."]
    sha256: _Digest
    file: Annotated[str | None, "Its name beside the file of the day."]
    at: Annotated[str | None, "When it was taken.", Also(format="date-time")]
    by: Annotated[str, "Who took it; empty where nobody says."]
    kept: Annotated[bool, "Whether the station has the picture; that of an imported record lies elsewhere."]


@dataclass(frozen=True, slots=True)
class PhotographsShape:
    """The photographs of a day, in the order of its file."""

    photographs: tuple[PhotographShape, ...]


@dataclass(frozen=True, slots=True)
class KeptPhotographShape:
    """The outcome of sending a photograph. It is on disk, and its record in the day."""

    key: str
    number: Annotated[int, "Its place among the photographs of the day, from 1.", Also(minimum=1)]
    seq: Annotated[int, "Its place among the additions to the day.", Also(minimum=0)]
    replay: Annotated[bool, "Whether it was there before."]
    sha256: _Digest
    file: Annotated[str | None, "Its name beside the file of the day."]


def photographer(request: Request) -> tuple[str, str]:
    """The device that sends, as the station calls it, and as a stranger may read it in the file of the day.

    The machine that runs the station has no name there: ``this device`` would be anybody's.
    """
    viewer: Viewer | None = request.state.viewer
    if viewer is None:
        return "", ""
    return viewer.device, "" if viewer.here else viewer.device


async def list_photographs(request: Request) -> Response:
    """The photographs of a day."""
    station: Station = request.state.station
    day_id = incoming.day_id(request)
    day = (await station.day(day_id)).day
    pictures = await station.run(station.store.pictures, day_id)
    found = (_shape(number, item, pictures) for number, item in enumerate(day.photographs, 1))
    return answered(PhotographsShape(tuple(found)))


async def add_photograph(request: Request) -> Response:
    """Keep a photograph of a display."""
    station: Station = request.state.station
    asked = request.query_params
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    key = asked.get("key", "")
    device, by = photographer(request)
    taken = TakenPhoto(asked.get("draft", ""), asked.get("place"), asked.get("at"), by)
    photo = Photo(kind, await request.body())
    appended, item = await station.keep_photograph(incoming.day_id(request), key, photo, taken, device)
    shape = KeptPhotographShape(key, appended.number, appended.seq, appended.replay, item.sha256, item.file)
    return answered(shape, 200 if appended.replay else 201)


async def get_picture(request: Request) -> Response:
    """The picture of that digest.

    Raises
    ------
    Problem: the day has none.
    """
    station: Station = request.state.station
    day_id, digest = incoming.day_id(request), request.path_params["digest"].lower()
    picture = await station.run(station.store.picture, day_id, digest if _DIGEST.fullmatch(digest) else "")
    if picture is None:
        raise Problem(404, "no_such_photo", "the day has no picture of that digest")
    return Response(picture.data, media_type=picture.media_type)


def _shape(number: int, item: Photograph, pictures: frozenset[str]) -> PhotographShape:
    at = None if item.at is None else item.at.isoformat()
    kept = item.sha256 in pictures
    return PhotographShape(number, item.draft, item.place, item.sha256, item.file, at, item.by, kept)


_LIST = Told(
    "listPhotographs",
    "The photographs of displays that the day names, each with its digest.",
    {200: Given("The records in order.", PhotographsShape)},
    refuses=(404,),
)
_ADD = Told(
    "addPhotograph",
    "Keep a photograph of a display, at most 5 MB; a draft and a wheel may have several.",
    kept(KeptPhotographShape, "That photograph was kept before; nothing was added."),
    takes=PICTURES,
    more="The picture is kept as it was sent, and the record with its digest is added to the file of the day in the "
    "same step. No finding depends on it.",
    refuses=(404, *WRITES),
    parameters=(
        Parameter(
            "key",
            "Made by the sender and never used again: sent twice, it is kept once. Needed.",
            {**TEXT, "minLength": 1, "maxLength": 200},
        ),
        Parameter("draft", "Key of the draft that it shows, or its number. Needed."),
        Parameter("place", "Place of the reading whose display it shows; without it, it shows the whole draft."),
        Parameter("at", "When it was taken, ISO 8601.", {**TEXT, "format": "date-time"}),
    ),
)
_GET = Told(
    "getPicture",
    "The picture of that digest, as it was sent.",
    {200: Given("The picture.", PICTURES)},
    refuses=(404,),
)

_ALL = f"{API}/days/{{id}}/photographs"

routes: list[BaseRoute] = [
    route("GET", _ALL, list_photographs, may=May.LOOK, told=_LIST),
    route("POST", _ALL, add_photograph, may=May.WEIGH, body=PHOTO, told=_ADD),
    route("GET", f"{_ALL}/{{digest}}", get_picture, may=May.LOOK, told=_GET),
]
