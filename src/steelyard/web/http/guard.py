"""The guard: checks that every request passes before anything else sees it, and headers that every answer carries.

A browser on this machine gets a session by itself; a device on the network pairs first; a script shows its token.
Against other web pages in the same browser: the host name is checked (a name that was bent to this address is none of
ours), a request that changes something must come from our own page, and the cookie never travels from elsewhere.
"""

from __future__ import annotations

import asyncio
import hmac
import ipaddress
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from steelyard.store import DeviceRole, StoreError
from steelyard.web.http import network
from steelyard.web.http.bodies import limited
from steelyard.web.http.problem import Problem, problem_of
from steelyard.web.http.routes import SAFE, SMALL, Address, Folder, May, matching
from steelyard.web.http.sessions import REMEMBERED, Sessions, Viewer
from steelyard.web.http.tries import Tries
from steelyard.web.settings import Settings

_FREE = 5  # wrong tokens that cost nothing: a script that is being set up

HEADERS = {
    "content-security-policy": (
        "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=()",
}


class Guard:
    """The first and last thing that a request passes."""

    def __init__(
        self, app: ASGIApp, *, settings: Settings, sessions: Sessions, routes: Sequence[Address | Folder]
    ) -> None:
        self._app = app
        self._settings = settings
        self._sessions = sessions
        self._routes = routes
        self._tries = Tries(free=_FREE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        visit = _Visit(scope, headers, local=_is_local(scope, headers), address=matching(self._routes, scope))
        finish = _Finish(send, visit, self._sessions)
        try:
            refusal = self._wrong_host(visit) or self._plain(visit) or await self._who(visit) or _may_not(visit)
        except StoreError as error:
            refusal = problem_of(error).to_response()
        if refusal is not None:
            await refusal(scope, receive, finish)
            return
        scope.setdefault("state", {}).update(viewer=visit.viewer, address=visit.address)
        body = SMALL if visit.address is None else visit.address.body
        answer = self._app(scope, limited(receive, headers, body), finish)
        if visit.viewer is None or not visit.viewer.device_id:
            await answer
        else:
            await self._while_paired(visit.viewer, asyncio.ensure_future(answer), finish)

    async def _while_paired(self, viewer: Viewer, answer: asyncio.Task[None], finish: _Finish) -> None:
        """Answer a paired device; a stream, or whatever takes long, breaks off when the device is shut out."""
        try:
            with self._sessions.answering(viewer, answer):
                while not (await asyncio.wait({answer}, timeout=REMEMBERED))[0]:
                    if not await self._sessions.still_in(viewer):
                        answer.cancel()
        finally:
            answer.cancel()
        if answer.cancelled():
            await finish.break_off(_unknown("this device was shut out").to_response())
        else:
            answer.result()

    def _wrong_host(self, visit: _Visit) -> Response | None:
        host = _host_of(visit.headers.get("host", ""))
        server = visit.scope.get("server")
        bound = None if server is None else server[0]
        ours = {"localhost", "127.0.0.1", "::1"} if visit.local else set[str]()
        if host is not None and (host in ours or host in self._settings.addresses or _same_address(host, bound)):
            return None
        message = "this name is not one of the station's; use the address that the station shows"
        return Problem(421, "wrong_host", message).to_response()

    def _plain(self, visit: _Visit) -> Response | None:
        """Over plain HTTP a station that speaks TLS only hands out its certificate; this machine needs no TLS."""
        if not self._settings.https or visit.scope["scheme"] != "http" or visit.local:
            return None
        if visit.address is not None and visit.address.plain:
            return None
        host = _host_of(visit.headers.get("host", "")) or "localhost"
        address = network.url(host, self._settings.port, https=True)
        return RedirectResponse(address + visit.scope["path"].lstrip("/"), 307)

    async def _who(self, visit: _Visit) -> Response | None:
        """Find out who asks; an answer where that is not to be believed."""
        bearer = visit.headers.get("authorization")
        if bearer is not None:
            kind, _, token = bearer.partition(" ")
            wanted, address = self._settings.token, visit.client
            pause = self._tries.pause(address)
            if pause > 0.0:
                return _slow_down(pause).to_response()
            # bytes, for a token may hold letters that compare_digest does not take as text
            if kind.lower() == "bearer" and wanted is not None and _equal(token.strip(), wanted):
                visit.viewer, visit.by_token = Viewer(DeviceRole.WEIGH, "script", here=visit.local), True
                self._tries.right(address)
                return None
            self._tries.wrong(address)
            return _unknown("the token is not the one that the station was started with").to_response()
        visit.viewer = await self._sessions.viewer(visit.headers, local=visit.local)
        if visit.viewer is None and visit.local:
            # reading on this machine takes nothing; a page that is opened here gets a session to write with
            visit.viewer, visit.guest = Viewer(DeviceRole.LOOK, "this device", here=True), True
        return None


@dataclass(slots=True)
class _Visit:
    """One request on its way through the guard."""

    scope: Scope
    headers: Headers
    local: bool
    address: Address | Folder | None
    viewer: Viewer | None = None
    by_token: bool = False
    guest: bool = False

    @property
    def client(self) -> str:
        """The address at the other end."""
        client = self.scope.get("client")
        return "" if client is None else client[0]

    @property
    def is_api(self) -> bool:
        return self.scope["path"].startswith("/api/")

    @property
    def unsafe(self) -> bool:
        return self.scope["method"] not in SAFE

    @property
    def may(self) -> May:
        """The right that the address needs; if no address fits, nobody learns more than a weigher or a reader may."""
        if self.address is None:
            return May.WEIGH if self.unsafe else May.LOOK
        return self.address.may

    @property
    def begins(self) -> bool:
        """Whether a session begins with this request: a page is opened on this machine."""
        path = self.scope["path"]
        return self.guest and self.scope["method"] == "GET" and not self.is_api and not path.startswith("/static/")


def _may_not(visit: _Visit) -> Response | None:
    """The answer to who may not; None for who may."""
    may, viewer = visit.may, visit.viewer
    if viewer is None and may is not May.ANYONE:
        return _unknown("pair this device first").to_response() if visit.is_api else RedirectResponse("/pair", 303)
    if visit.guest and may is not May.ANYONE and (visit.unsafe or may is not May.LOOK):
        return _unknown("open the station in a browser on this machine first, or send the token").to_response()
    if visit.unsafe and not visit.by_token and not _from_our_page(visit):
        message = "a request that changes something must come from the station's own page, or carry the token"
        return Problem(403, "foreign_page", message).to_response()
    if viewer is None or may in (May.ANYONE, May.LOOK):
        return None
    if not viewer.may_weigh:
        return Problem(403, "may_only_look", "this device may look, not weigh").to_response()
    if may is May.OWN and not viewer.here:
        return Problem(403, "not_here", "this is done on the machine that runs the station").to_response()
    return None


def _unknown(message: str) -> Problem:
    return Problem(401, "who_are_you", message, headers={"www-authenticate": 'Bearer realm="steelyard"'})


def _slow_down(pause: float) -> Problem:
    seconds = math.ceil(pause)
    message = f"too many wrong tokens came from this address; wait {seconds} s and try again"
    return Problem(429, "slow_down", message, headers={"retry-after": str(seconds)})


def _equal(given: str, wanted: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "surrogateescape"), wanted.encode())


def _is_local(scope: Scope, headers: Headers) -> bool:
    """Whether the other end is this machine itself, and nobody forwards for somebody else."""
    client = scope.get("client")
    address = None if client is None else _address(client[0])
    forwarded = any(name in headers for name in ("forwarded", "x-forwarded-for", "x-real-ip"))
    return address is not None and address.is_loopback and not forwarded


def _address(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        address = ipaddress.ip_address(text.partition("%")[0])
    except ValueError:
        return None
    mapped = address.ipv4_mapped if isinstance(address, ipaddress.IPv6Address) else None
    return address if mapped is None else mapped


def _host_of(header: str) -> str | None:
    """The host of a Host header without its port, in lower case; None where it is none."""
    text = header.strip().lower()
    if text.startswith("["):
        return text[1:].partition("]")[0] or None
    return text.partition(":")[0].rstrip(".") or None


def _same_address(host: str, bound: Any) -> bool:
    address = _address(host)
    return address is not None and isinstance(bound, str) and address == _address(bound)


def _from_our_page(visit: _Visit) -> bool:
    """Whether the browser says that the request comes from a page of this origin."""
    origin = visit.headers.get("origin")
    if origin is not None:
        return origin.lower() == f"{visit.scope['scheme']}://{visit.headers.get('host', '').lower()}"
    return visit.headers.get("sec-fetch-site") == "same-origin"


class _Finish:
    """``send`` that adds what every answer carries, and knows how far the answer is."""

    def __init__(self, send: Send, visit: _Visit, sessions: Sessions) -> None:
        self._send = send
        self._visit = visit
        self._sessions = sessions
        self._begun = self._over = False

    async def __call__(self, message: Message) -> None:
        """Send a piece of the answer."""
        if message["type"] == "http.response.start":
            self._begun = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("cache-control", "no-store")
            if self._visit.begins and message["status"] < 400:
                carrier = Response()
                self._sessions.give(carrier, self._sessions.here(), secure=self._visit.scope["scheme"] == "https")
                headers.append("set-cookie", carrier.headers["set-cookie"])
        self._over = message["type"] == "http.response.body" and not message.get("more_body", False)
        await self._send(message)

    async def break_off(self, instead: Response) -> None:
        """End an answer that was begun; answer ``instead`` where none was."""
        if not self._begun:
            await instead(self._visit.scope, _nothing_more, self)
        elif not self._over:
            await self({"type": "http.response.body", "body": b"", "more_body": False})


async def _nothing_more() -> Message:
    return {"type": "http.disconnect"}
