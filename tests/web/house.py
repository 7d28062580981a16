"""A station in this process with everybody who may come to its door, asked without a network between."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.responses import Response
from starlette.types import Message, Scope

from steelyard.store import DeviceRole, open_store
from steelyard.web import Settings, create_app
from steelyard.web.http import network
from steelyard.web.http.pairing import Door, Pairing
from steelyard.web.http.sessions import Sessions
from steelyard.web.station.station import Station
from tests.web.serving import EXAMPLE, TOKEN

LAN = "192.168.7.20"
HERE_ORIGIN, LAN_ORIGIN = (network.url(host, 8765, https=False).rstrip("/") for host in ("127.0.0.1", LAN))


@dataclass(frozen=True)
class Role:
    """Who asks: from where, with what, and what that lets them do by safe and by other methods."""

    name: str
    here: bool
    safe: frozenset[str]
    unsafe: frozenset[str]
    token: str | None = None
    session: str | None = None
    origin: str | None = None


async def ask(
    app: Any,
    method: str,
    target: str,
    headers: dict[str, str],
    *,
    here: bool,
    body: bytes = b"",
    state: dict[str, Any] | None = None,
) -> tuple[int, dict[str, str], bytes]:
    """One request straight to the application: status, headers and body of its answer."""
    sent: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Message) -> None:
        sent.append(message)

    scope = a_request(method, target, headers, here=here, state=state)
    await app(scope, receive, send)
    status = sent[0]["status"]
    return status, {k.decode(): v.decode() for k, v in sent[0]["headers"]}, b"".join(m.get("body", b"") for m in sent)


def a_request(
    method: str, target: str, headers: dict[str, str], *, here: bool, state: dict[str, Any] | None = None
) -> Scope:
    """A request as a server hands it to the application."""
    return {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": target,
        "raw_path": quote(target).encode(),
        "root_path": "",
        "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
        "client": ("127.0.0.1" if here else "192.168.7.77", 50000),
        "server": ("127.0.0.1" if here else LAN, 8765),
        "state": {} if state is None else state,
    }


@dataclass(frozen=True)
class House:
    """A station over a store of its own, and the cookies and device ids of who was let in."""

    app: Starlette
    station: Station
    store: Path
    day_id: str
    cookies: dict[str, str]
    ids: dict[str, str]

    def headers(self, role: Role) -> dict[str, str]:
        """What a role sends with each request."""
        found = {"host": "127.0.0.1:8765" if role.here else f"{LAN}:8765", "accept": "application/json"}
        if role.origin is not None:
            found["origin"] = role.origin
        if role.session is not None:
            found["cookie"] = self.cookies[role.session]
        if role.token is not None:
            found["authorization"] = f"Bearer {role.token}"
        return found


@contextmanager
def open_house(folder: Path) -> Iterator[House]:
    """A station with the bundled day, a reader, a weigher and a browser on its own machine."""
    settings = Settings(store=folder / "station.db", keys=folder / "keys", token=TOKEN, lan=True, addresses=(LAN,))
    store = open_store(settings.store)
    station = Station(store, settings)
    day_id = store.add_day(EXAMPLE.read_text(encoding="utf-8"))
    sessions = Sessions(store, settings)
    cookies = {"here": f"{sessions.cookie(secure=False)}={sessions.here()}"}
    ids: dict[str, str] = {}
    for word, role in (("look", DeviceRole.LOOK), ("weigh", DeviceRole.WEIGH)):
        response = Response()
        ids[word] = sessions.let_in(response, name=word, role=role).id
        cookies[word] = response.headers["set-cookie"].partition(";")[0]
    app = create_app(settings, station=station, door=Door(Pairing(f"{LAN_ORIGIN}/")))
    yield House(app, station, folder / "station.db", day_id, cookies, ids)
    asyncio.run(station.close())
