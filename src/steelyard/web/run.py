"""Running the station: everything that is settled before the first request, then the server until it is stopped."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import signal
import sys
from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import uvicorn

from steelyard.dayfile import parse_day, read_day
from steelyard.store import Store, open_store
from steelyard.web.app import create_app
from steelyard.web.http import network
from steelyard.web.http.doorway import AT_ONCE, Doorway
from steelyard.web.http.pairing import Door, Pairing
from steelyard.web.http.protocol import Protocol
from steelyard.web.http.quiet import keep_quiet
from steelyard.web.settings import Settings, default_store
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.station import Station

if TYPE_CHECKING:
    import ssl

    from starlette.applications import Starlette

    from steelyard.web.http.authority import Authority

_LAST_SECOND = 1  # s that open streams may take to end


@dataclass(frozen=True, slots=True)
class Ready:
    """A station about to serve.

    Attributes
    ----------
    address: to open on this machine. plain_address: the same without TLS, which this machine needs not; empty where
        ``address`` has none. lan_address: to open elsewhere on the network; empty without one.
    trust_address: where a tablet gets the certificate over plain HTTP; empty without TLS.
    fingerprint: of that certificate.
    """

    station: Station
    door: Door
    app: Starlette
    listeners: tuple[tuple[Doorway, ssl.SSLContext | None], ...]
    address: str
    plain_address: str = ""
    lan_address: str = ""
    trust_address: str = ""
    fingerprint: str = ""

    def serve(self) -> None:
        """Serve until the process is asked to stop."""
        asyncio.run(_serve(self))


def prepare(settings: Settings) -> Ready:
    """Open the store, the sockets and the instruments.

    Raises
    ------
    StoreError: the store cannot be opened, or is of a newer version.
    DayFileError: the simulated day is none. ValueError: it has no draft.
    SourceError: an instrument that is none.
    AuthorityError: no certificate can be had.
    OSError: the port is taken, or a folder cannot be made.
    """
    if str(settings.store) and "://" not in str(settings.store):
        path = Path(settings.store).expanduser()
        path.parent.mkdir(parents=True, exist_ok=True)
        settings = replace(settings, store=path)
    simulation = None if settings.simulate is None else Simulation(read_day(settings.simulate))
    any_port = settings.port == 0
    with contextlib.ExitStack() as undo:
        listener = undo.enter_context(contextlib.closing(network.listen(settings.port, lan=settings.lan)))
        port = listener.getsockname()[1]
        address = network.lan_address() if settings.lan else None
        hosts = tuple(item for item in (address, *network.names()) if item) if settings.lan else ()
        settings = replace(settings, port=port, addresses=(*settings.addresses, *hosts))
        store = undo.enter_context(open_store(settings.store))
        begin(store, simulation)
        at = "" if address is None else network.url(address, port, https=settings.https)
        station, door = Station(store, settings, simulation=simulation), Door(Pairing(at))
        ready = Ready(
            station,
            door,
            create_app(settings, station=station, door=door),
            ((listener, None),),
            network.url("127.0.0.1", port, https=False),
            lan_address=at,
        )
        if settings.https:
            ready = _with_tls(ready, undo, any_port=any_port)
        undo.pop_all()
        return ready


def begin(store: Store, simulation: Simulation | None = None) -> None:
    """Add what a visitor finds first: to an empty store the bundled day; with a simulated rig, a day without drafts."""
    if not store.count_days():
        for item in files("steelyard.web").joinpath("bundled").iterdir():
            if item.name.endswith(".toml"):
                store.add_day(item.read_text(encoding="utf-8"))
    if simulation is not None and not _unused(store, simulation):
        store.add_day(simulation.text)


def _unused(store: Store, simulation: Simulation) -> bool:
    newest = store.list_days(1)
    return bool(newest) and newest[0].seq == 0 and parse_day(store.day_text(newest[0].id), "day") == simulation.day


def authority_folder(settings: Settings) -> Path:
    """Where the authority lies: beside the store, or where stores lie if that is elsewhere."""
    beside = default_store() if "://" in str(settings.store) else Path(settings.store)
    return beside.parent / f"{beside.stem}-authority"


def _with_tls(ready: Ready, undo: contextlib.ExitStack, *, any_port: bool) -> Ready:
    """The port speaks TLS; the one after it hands out the certificate, which nobody can fetch over TLS in peace.

    ``any_port``: nobody asked for a port, so that any other does where the one after it is taken.
    """
    from steelyard.web.http.authority import open_authority, signable

    settings = ready.station.settings
    authority: Authority = open_authority(authority_folder(settings))
    hosts = ["localhost", "127.0.0.1", *settings.addresses]
    context = authority.server_context(signable(hosts))
    listener = ready.listeners[0][0]
    plain = undo.enter_context(contextlib.closing(_listen_beside(settings, any_port=any_port)))
    plain_port = plain.getsockname()[1]
    address = network.lan_address() if settings.lan else None
    trust = network.url(address or "127.0.0.1", plain_port, https=False) + "trust"
    ready.door.authority, ready.door.trust_address = authority, trust
    return replace(
        ready,
        listeners=((listener, context), (plain, None)),
        address=network.url("127.0.0.1", settings.port, https=True),
        plain_address=network.url("127.0.0.1", plain_port, https=False),
        trust_address=trust,
        fingerprint=authority.fingerprint,
    )


def _listen_beside(settings: Settings, *, any_port: bool) -> Doorway:
    """The port after that of the station, or any free one where that is taken and ``any_port`` says so.

    Raises
    ------
    OSError: the port is taken.
    """
    following = settings.port + 1 if settings.port < 65535 else 0
    try:
        return network.listen(following, lan=settings.lan)
    except OSError:
        if not any_port:
            raise
        return network.listen(0, lan=settings.lan)


class _Server(uvicorn.Server):
    """A server that leaves signals to whoever runs several of them."""

    @contextlib.contextmanager
    def capture_signals(self) -> Generator[None]:
        """None are taken here."""
        yield


async def _serve(ready: Ready) -> None:
    servers = [_server(ready.app, *listener, first=at == 0) for at, listener in enumerate(ready.listeners)]
    keep_quiet()

    def stop() -> None:
        ready.station.hub.close()
        for server in servers:
            server.should_exit = True

    _on_signals(stop)
    runs = [server.serve([listener]) for server, (listener, _) in zip(servers, ready.listeners, strict=True)]
    await asyncio.gather(*runs)


def _server(app: Starlette, doorway: Doorway, context: ssl.SSLContext | None, *, first: bool) -> _Server:
    config = uvicorn.Config(
        app,
        loop="asyncio",
        http=partial(Protocol, doorway=doorway),  # pyright: ignore[reportArgumentType] - made like the class
        ws="none",
        lifespan="on" if first else "off",
        log_level=logging.WARNING,
        access_log=False,
        proxy_headers=False,
        server_header=False,
        backlog=AT_ONCE,
        timeout_keep_alive=20,
        timeout_graceful_shutdown=_LAST_SECOND,
    )
    config.load()
    config.ssl = context
    return _Server(config)


def _on_signals(stop: Callable[[], None]) -> None:
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        if sys.platform == "win32":
            signal.signal(number, lambda *_: loop.call_soon_threadsafe(stop))
        else:
            loop.add_signal_handler(number, stop)
