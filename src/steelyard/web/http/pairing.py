"""Pairing: a one-time code, shown where the station runs, lets a device on the network in."""

from __future__ import annotations

import io
import math
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.responses import Response

from steelyard.store import Device, DeviceRole
from steelyard.web.http.problem import Problem
from steelyard.web.http.sessions import Sessions
from steelyard.web.http.tries import Tries

if TYPE_CHECKING:
    from steelyard.web.http.authority import Authority

_DIGITS = 8
_VALID = 600.0  # s
_FREE_PHRASES = 3  # wrong ones that cost nothing
_MOST_WRONG = 5  # then every code is made anew: of 10^8 codes nobody hits one in five


@dataclass(frozen=True, slots=True)
class PairingCode:
    """A code and how it is carried to the other device.

    Attributes
    ----------
    code: eight digits, good once and for ten minutes. role: what a device that shows it may do.
    address: of the station, as the other device sees it. url: the same with the code, for the QR code.
    """

    code: str
    role: DeviceRole
    address: str
    url: str


class Pairing:
    """The codes in force: one for each role, in memory only. Safe to share between threads.

    ``address`` is that of the station on the network; empty where it is not on one. ``tell`` is called, from any
    thread, with the new code to weigh and why there is one, when the code that was shown is no longer good: it was
    used, or wrong ones were tried.
    """

    def __init__(self, address: str, *, clock: Callable[[], float] = time.monotonic) -> None:
        self.address = address
        self.tell: Callable[[PairingCode, str], None] | None = None
        self._clock = clock
        self._lock = threading.Lock()
        self._codes: dict[DeviceRole, tuple[str, float]] = {}
        self._wrong = 0
        self._tries = Tries(clock=clock)

    def offer(self, role: DeviceRole = DeviceRole.WEIGH) -> PairingCode:
        """The code in force for a role, made where there is none."""
        with self._lock:
            now = self._clock()
            code, until = self._codes.get(role, ("", 0.0))
            if now >= until:
                code = "".join(secrets.choice("0123456789") for _ in range(_DIGITS))
                self._codes[role] = (code, now + _VALID)
        return PairingCode(code, role, self.address, f"{self.address}pair?{urlencode({'code': code})}")

    def redeem(self, code: str, address: str = "") -> DeviceRole | None:
        """The role that a code gives; the code is then used up. None: it is not in force. ``address``: of the sender.

        Raises
        ------
        Problem: that address tried a wrong code a moment ago.
        """
        pause = math.ceil(self._tries.pause(address))
        if pause > 0:
            message = f"a wrong code was tried a moment ago; wait {pause} s and try again"
            raise Problem(429, "slow_down", message, headers={"retry-after": str(pause)})
        role, void = self._look_up("".join(letter for letter in code if letter.isascii() and letter.isdigit()))
        if role is not None:
            self._tries.right(address)
            return role
        self._tries.wrong(address)
        if void:
            self._say_anew(f"{_MOST_WRONG} wrong codes were tried, so the code is another one")
        return None

    def _look_up(self, digits: str) -> tuple[DeviceRole | None, bool]:
        """The role that a code gives, if it is in force; and whether every code is void because so many were wrong."""
        with self._lock:
            now = self._clock()
            for role, (known, until) in self._codes.items():
                if now < until and secrets.compare_digest(known, digits):
                    del self._codes[role]
                    self._wrong = 0
                    return role, False
            self._wrong += 1
            if self._wrong < _MOST_WRONG:
                return None, False
            self._wrong = 0
            self._codes.clear()
            return None, True

    def let_in(self, sessions: Sessions, response: Response, *, code: str, name: str, address: str = "") -> Device:
        """Let the device in that shows a code, and give it its cookie on ``response``. Waits for the database.

        Raises
        ------
        Problem: the code is not in force, or that address has to wait.
        StoreError: the store would not; the code is then used up.
        """
        role = self.redeem(code, address)
        if role is None:
            raise Problem(403, "wrong_code", "this code is not, or no longer, the one that the station shows")
        name = "".join(letter for letter in name if letter.isprintable()).strip()[:60] or "unnamed device"
        try:
            return sessions.let_in(response, name=name, role=role)
        finally:
            if role is DeviceRole.WEIGH:
                self._say_anew(f"The code was used by {name!r}")

    def _say_anew(self, why: str) -> None:
        if self.tell is not None and self.address:
            self.tell(self.offer(), why)


def qr_data_uri(text: str) -> str:
    """A QR code to stand in an ``img``."""
    import segno

    return segno.make(text, error="m", micro=False).svg_data_uri(scale=6, border=4, dark="#000", light="#fff")


def qr_terminal(text: str) -> str:
    """A QR code in half blocks, light on dark, for a terminal."""
    import segno

    out = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(out=out, border=2, compact=True)
    return out.getvalue()


@dataclass(slots=True)
class Door:
    """How devices come in and come to trust the station. Every request carries it.

    Attributes
    ----------
    pairing: the codes. authority, trust_address: the authority whose certificate is handed out, and where; None and
        empty where the station speaks no TLS. phrases: wrong pass phrases of weighers' keys.
    """

    pairing: Pairing = field(default_factory=lambda: Pairing(""))
    authority: Authority | None = None
    trust_address: str = ""
    phrases: Tries = field(default_factory=lambda: Tries(free=_FREE_PHRASES))
