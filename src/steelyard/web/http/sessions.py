"""Sessions by cookie: signed, for this origin alone, out of reach of scripts; shutting a device out works at once."""

from __future__ import annotations

import asyncio
import hashlib
import secrets
import time
from collections import defaultdict
from collections.abc import Generator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import Any, cast

from itsdangerous import BadSignature, URLSafeSerializer
from starlette.datastructures import Headers
from starlette.responses import Response

from steelyard.store import Device, DeviceRole, Store, StoreError
from steelyard.web.settings import Settings

_YEAR = 365 * 24 * 3600
REMEMBERED = 5.0
"""s that a paired device is believed without asking the store."""


@dataclass(frozen=True, slots=True)
class Viewer:
    """The device or program that sends a request.

    Attributes
    ----------
    role: its rights. device: its name, as the history shows it.
    here: whether it sits on the machine that runs the station: only there are pairing codes shown.
    device_id, token_hash: of a device that was paired; empty for others.
    """

    role: DeviceRole
    device: str
    here: bool = False
    device_id: str = ""
    token_hash: str = field(default="", repr=False)

    @property
    def may_weigh(self) -> bool:
        """Whether it may keep drafts."""
        return self.role is DeviceRole.WEIGH


def as_object(value: Any) -> dict[str, Any] | None:
    """A JSON value as an object; None where it is something else."""
    return cast("dict[str, Any]", value) if isinstance(value, dict) else None


def hash_of(token: str) -> str:
    """The hash of a token, for the store; tokens are long and random, so one round is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


class Sessions:
    """The cookies: signed, for this origin alone, out of reach of scripts."""

    def __init__(self, store: Store, settings: Settings) -> None:
        self._store = store
        self._settings = settings
        try:
            key = store.secret("cookies", lambda: secrets.token_bytes(32))
        except StoreError:
            key = secrets.token_bytes(32)  # a store that cannot be written: sessions last as long as the server
        self._signer = URLSafeSerializer(key, salt="session")
        self._known: dict[str, tuple[float, Device | None]] = {}
        self._shut_out = 0  # how often somebody was: what was looked up before that is not remembered after it
        self._answering: defaultdict[str, set[asyncio.Task[None]]] = defaultdict(set)  # by the id of the device
        self._loop: asyncio.AbstractEventLoop | None = None

    def cookie(self, *, secure: bool) -> str:
        """The cookie's name. Cookies know no ports, and one that came over TLS is not replaced by one that did not."""
        return f"steelyard-{self._settings.port}{'-tls' if secure else ''}"

    def here(self) -> str:
        """The value of a cookie for a browser on this machine."""
        return self._sign({"here": secrets.token_hex(8)})

    def let_in(self, response: Response, *, name: str, role: DeviceRole) -> Device:
        """Let a device in that was paired, and give it its cookie. Waits for the database.

        Raises
        ------
        StoreError: the name is none, or the store would not.
        """
        token = secrets.token_urlsafe(32)
        device = self._store.add_device(name, role, hash_of(token))
        self.give(response, self._sign({"token": token}), secure=self._settings.https)
        return device

    def give(self, response: Response, value: str, *, secure: bool) -> None:
        """Put the cookie on an answer; ``secure``: it came over TLS and never travels without."""
        name = self.cookie(secure=secure)
        response.set_cookie(name, value, max_age=_YEAR, httponly=True, samesite="strict", secure=secure)

    def shut_out(self, device_id: str) -> bool:
        """Shut a device out, at once: what it is being told breaks off too. Waits for the database."""
        done = self._store.revoke_device(device_id)
        self._shut_out += 1
        self._known.clear()
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._break_off, device_id)
        return done

    def _break_off(self, device_id: str) -> None:
        for task in self._answering.get(device_id, ()):
            task.cancel()

    @contextmanager
    def answering(self, viewer: Viewer, task: asyncio.Task[None]) -> Generator[None]:
        """While the block runs, ``task`` answers a paired device, and is cancelled when that is shut out."""
        self._loop = asyncio.get_running_loop()
        self._answering[viewer.device_id].add(task)
        try:
            yield
        finally:
            self._answering[viewer.device_id].discard(task)
            if not self._answering[viewer.device_id]:
                del self._answering[viewer.device_id]

    async def still_in(self, viewer: Viewer) -> bool:
        """Whether a paired device was not shut out, here or by another station over the same store."""
        try:
            return await self._device(viewer.token_hash) is not None
        except StoreError:
            return True  # a store that cannot say so just now shuts nobody out

    async def viewer(self, headers: Headers, *, local: bool) -> Viewer | None:
        """Whose cookie it is; None where there is none that counts."""
        data = self._read(headers.get("cookie", ""))
        if data is None:
            return None
        if "here" in data:
            return Viewer(DeviceRole.WEIGH, "this device", here=True) if local else None
        token = data.get("token")
        hashed = hash_of(token) if isinstance(token, str) else ""
        device = await self._device(hashed) if hashed else None
        return None if device is None else Viewer(device.role, device.name, local, device.id, hashed)

    async def _device(self, hashed: str) -> Device | None:
        now = time.monotonic()
        known = self._known.get(hashed)
        if known is not None and now - known[0] < REMEMBERED:
            return known[1]
        before = -1
        device: Device | None = None
        while before != self._shut_out:
            before = self._shut_out
            device = await asyncio.to_thread(self._store.find_device, hashed)
        if len(self._known) > 1000:
            self._known.clear()
        self._known[hashed] = (now, device)
        return device

    def _sign(self, data: dict[str, str]) -> str:
        return self._signer.dumps(data)

    def _read(self, header: str) -> dict[str, Any] | None:
        try:
            cookies = SimpleCookie(header)
            morsel = cookies.get(self.cookie(secure=True), cookies.get(self.cookie(secure=False)))
            return None if morsel is None else as_object(self._signer.loads(morsel.value))
        except (CookieError, BadSignature):
            return None
