"""The interface for programs, where a day is sealed and its seals are fetched."""

from __future__ import annotations

import asyncio
import math
from collections.abc import Mapping, Sequence
from typing import Annotated, Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute

from steelyard.classes import dataclass
from steelyard.questions.form import Reading
from steelyard.questions.kinds import Text
from steelyard.questions.shape import Also
from steelyard.seals.keys import PassPhraseError
from steelyard.store import StoredEntry
from steelyard.web.http import incoming
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import SMALL, May, route
from steelyard.web.http.told import ASKS, Given, Told, answered
from steelyard.web.http.tries import Tries
from steelyard.web.settings import API
from steelyard.web.station.refused import Refusal, RefusalError
from steelyard.web.station.sealing import DayAsStored, SealGiven, SealOfDay, seal_day, seals_of
from steelyard.web.station.station import Station

_ATTEMPTS = 5  # against devices that keep adding to the day meanwhile
_COSE = "application/cose"


@dataclass(frozen=True, slots=True)
class Secret(Text):
    """A text that no answer repeats, not even one that refuses it."""

    def read(self, reading: Reading, value: Any, path: str) -> str:
        """The text."""
        if not isinstance(value, str) or len(value) > self.most:
            reading.fault(path, "", f"is not a text of at most {self.most} letters")
            return ""
        return value


@dataclass(frozen=True, slots=True)
class SentSeal:
    """The weigher who seals."""

    person: Annotated[str, Text("A weigher who has a key on this machine; empty means the only one.", most=40)] = ""
    pass_phrase: Annotated[str, Secret("The pass phrase of their key. It is kept nowhere.", most=1000)] = ""


@dataclass(frozen=True, slots=True)
class DaySealShape:
    """A seal that a day has."""

    number: Annotated[int, "Its place among the seals of the day, from 1.", Also(minimum=1)]
    person: Annotated[str, "The weigher, as the folder of keys has them."]
    fingerprint: Annotated[str, "Of the key."]
    running_number: Annotated[int, "Its place among all seals of the weigher, from 1.", Also(minimum=1)]
    sealed_at: Annotated[str, "By the weigher's clock.", Also(format="date-time")]
    received: Annotated[str, "By the station's clock."]
    seq: Annotated[int, "The last addition that it seals.", Also(minimum=0)]
    since: Annotated[Mapping[str, int], "How much came to the day after it, by kind."]
    linked: Annotated[bool, "Whether the digest that it names still stands in the chain of the day."]


@dataclass(frozen=True, slots=True)
class DaySealsShape:
    """The seals of a day, in order."""

    seals: tuple[DaySealShape, ...]


@dataclass(frozen=True, slots=True)
class SealGivenShape:
    """The seal that was asked for."""

    number: Annotated[int, "Its place among the seals of the day, from 1.", Also(minimum=1)]
    replay: Annotated[bool, "Whether the day had this very seal before."]
    notes: Annotated[tuple[str, ...], "Sentences that the weigher should read."]


def _station(request: Request) -> Station:
    return request.state.station


async def list_seals(request: Request) -> Response:
    """The seals of a day."""
    station, day_id = _station(request), incoming.day_id(request)
    found = await seals_at(station, day_id)
    return answered(DaySealsShape(tuple(map(_shape, found))))


async def seals_at(
    station: Station, day_id: str, history: Sequence[StoredEntry] | None = None
) -> tuple[SealOfDay, ...]:
    """The seals of a day, held against its history, which is read where it is not given."""
    history = await station.history(day_id) if history is None else history
    return await station.run(seals_of, station.store, day_id, history)


def _shape(one: SealOfDay) -> DaySealShape:
    return DaySealShape(
        number=one.number,
        person=one.person,
        fingerprint=one.fingerprint,
        running_number=one.record.number,
        sealed_at=one.record.when.isoformat(),
        received=one.received,
        seq=one.seq,
        since={str(part): count for part, count in one.since},
        linked=one.linked,
    )


async def get_seal(request: Request) -> Response:
    """The bytes of a seal.

    Raises
    ------
    Problem: the day has no such seal.
    """
    station, text = _station(request), request.path_params["number"]
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 0
    day_id = incoming.day_id(request)
    kept = await station.run(station.store.seal, day_id, number)
    if kept is None:
        raise Problem(404, "no_such_seal", f"the day has no seal {text[:40]!r}")
    # named as the sealed day file is, beside which 'authenticate' then finds it by itself
    named = {"content-disposition": f'attachment; filename="{day_id}-sealed-{number}.seal"'}
    return Response(kept.data, media_type=_COSE, headers=named)


async def add_seal(request: Request) -> Response:
    """Seal the day as it stands.

    Raises
    ------
    RefusalError: the pass phrase is wrong or missing, or the day cannot be sealed.
    """
    station, day_id = _station(request), incoming.day_id(request)
    opened = await station.day(day_id)
    sent = await incoming.read_body(request, SentSeal, opened.day)
    tries: Tries = request.state.door.phrases
    _refuse_quick_tries(tries, sent.person)
    viewer = request.state.viewer
    device = "" if viewer is None else viewer.device
    stood = await _as_it_stands(station, day_id)
    try:
        job = station.run(
            seal_day, station.store, station.settings, day_id, stood, sent.person or None, sent.pass_phrase, device
        )
        given: SealGiven = await asyncio.shield(job)  # a number that was given is kept though nobody waits for it
    except PassPhraseError as error:
        tries.wrong(sent.person)
        words = "is wrong" if sent.pass_phrase else "is needed: the key of this weigher has one"
        raise RefusalError(Refusal.WRONG_PASS_PHRASE, f"the pass phrase {words}") from error
    tries.right(sent.person)
    shape = SealGivenShape(given.number, given.again, given.notes)
    return answered(shape, 200 if given.again else 201)


def _refuse_quick_tries(tries: Tries, person: str) -> None:
    pause = math.ceil(tries.pause(person))
    if pause > 0:
        message = f"a wrong pass phrase was tried a moment ago; wait {pause} s and try again"
        raise Problem(429, "slow_down", message, headers={"retry-after": str(pause)})


async def _as_it_stands(station: Station, day_id: str) -> DayAsStored:
    """A day, its chain and its findings, all of one moment.

    Raises
    ------
    RefusalError: other devices keep adding to it.
    """
    for _ in range(_ATTEMPTS):
        snapshot = await station.snapshot(day_id)
        head = await station.run(station.store.head, day_id)
        answer = await station.findings(day_id)
        if snapshot.seq == head.seq == answer.seq:
            return DayAsStored(snapshot, head, answer.findings)
    raise RefusalError(Refusal.CANNOT_SEAL, "other devices keep adding to this day; seal it when they are done", wait=5)


_LIST = Told(
    "listSeals",
    "The seals of the day, in order, each with what came to the day after it.",
    {200: Given("The seals.", DaySealsShape)},
    refuses=(404,),
)
_GET = Told("getSeal", "A seal, byte for byte.", {200: Given("The seal.", _COSE)}, refuses=(404,))
_ADD = Told(
    "addSeal",
    "Seal the day as it stands, with a key on the station's machine.",
    {
        201: Given("Sealed.", SealGivenShape),
        200: Given("The day had this very seal before.", SealGivenShape),
    },
    takes=SentSeal,
    more="Only on the machine that runs the station. After three wrong pass phrases every further one costs a pause, "
    "which is answered with 429.",
    refuses=(*ASKS, 409, 504, 507),
)

_SEALS = f"{API}/days/{{id}}/seals"

routes: list[BaseRoute] = [
    route("GET", _SEALS, list_seals, may=May.LOOK, told=_LIST),
    route("GET", f"{_SEALS}/{{number}}.seal", get_seal, may=May.LOOK, told=_GET),
    route("POST", _SEALS, add_seal, may=May.OWN, body=SMALL, told=_ADD),
]
