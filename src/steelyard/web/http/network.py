"""Where the station can be reached: sockets to listen on, and the address that a tablet on the network would use."""

from __future__ import annotations

import ipaddress
import socket

from steelyard.web.http.doorway import Doorway

_ELSEWHERE = (("192.0.2.1", socket.AF_INET), ("2001:db8::1", socket.AF_INET6))  # RFC 5737, 3849: nobody's


def lan_address() -> str | None:
    """This machine's address on the network; None where it is on none. Nothing is sent to find it."""
    for target, family in _ELSEWHERE:
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((target, 9))
                address = probe.getsockname()[0]
            except OSError:
                continue
        if not ipaddress.ip_address(address.partition("%")[0]).is_loopback:
            return address
    return None


def names() -> tuple[str, ...]:
    """By what names this machine may be called on the network, in lower case."""
    name = socket.gethostname().lower().partition(".")[0]
    return (f"{name}.local", name) if name and name != "localhost" else ()


def listen(port: int, *, lan: bool) -> Doorway:
    """A socket on this machine alone, or on the network too; port 0 takes any that is free.

    Raises
    ------
    OSError: the port is taken or not allowed.
    """
    # the event loop only sends at once, without waiting for further bytes, where the protocol is named
    found = Doorway(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if port:  # two sockets that may share an address can be given the same free port, and only one of them listens
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind(("0.0.0.0" if lan else "127.0.0.1", port))  # noqa: S104 - the network was asked for
        found.listen()
    except BaseException:
        found.close()
        raise
    return found


def url(host: str, port: int, *, https: bool) -> str:
    """The address to type, with a slash at its end."""
    shown = f"[{host}]" if ":" in host else host
    plain = port == (443 if https else 80)
    return f"{'https' if https else 'http'}://{shown}{'' if plain else f':{port}'}/"
