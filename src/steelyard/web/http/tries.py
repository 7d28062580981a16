"""Wrong codes and tokens cost whoever tries them a pause that doubles with each, whatever else is going on."""

from __future__ import annotations

import ipaddress
import threading
import time
from collections import OrderedDict
from collections.abc import Callable

_LONGEST = 60.0  # s that a single pause lasts at most
_FORGOTTEN = 900.0  # s without a wrong try after which an address begins anew
_MOST = 1024  # addresses remembered; beyond that the one that was quiet for longest is forgotten


class Tries:
    """The wrong tries of each address, in memory only. Safe to share between threads.

    Parameters
    ----------
    free: wrong tries that cost nothing. clock: monotonic time [s].
    """

    def __init__(self, *, free: int = 0, clock: Callable[[], float] = time.monotonic) -> None:
        self._free = free
        self._clock = clock
        self._lock = threading.Lock()
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()  # tries, and when the last one was

    def pause(self, address: str) -> float:
        """For how long an address is not listened to [s]; 0.0 where it may try."""
        with self._lock:
            count, last = self._wrong.get(_network(address), (0, 0.0))
            if count <= self._free:
                return 0.0
            pause = min(2.0 ** min(count - self._free - 1, 30), _LONGEST)
            return max(last + pause - self._clock(), 0.0)

    def wrong(self, address: str) -> None:
        """An address tried a wrong one."""
        with self._lock:
            now, name = self._clock(), _network(address)
            count, last = self._wrong.pop(name, (0, now))
            self._wrong[name] = (1 if now - last > _FORGOTTEN else count + 1, now)
            if len(self._wrong) > _MOST:
                self._wrong.popitem(last=False)

    def right(self, address: str) -> None:
        """An address tried the right one."""
        with self._lock:
            self._wrong.pop(_network(address), None)

    def __len__(self) -> int:
        """How many addresses are remembered."""
        return len(self._wrong)


def _network(address: str) -> str:
    """An IPv4 address; of an IPv6 address the network, for a device has as many addresses there as it likes."""
    try:
        known = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address[:60]
    if isinstance(known, ipaddress.IPv4Address):
        return str(known)
    if known.ipv4_mapped is not None:
        return str(known.ipv4_mapped)
    return str(ipaddress.ip_network((int(known), 64), strict=False))
