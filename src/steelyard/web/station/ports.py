"""The live sources as they are written on the command line, with the patterns that were taught."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from steelyard.capture import (
    AddressError,
    LinePattern,
    PatternError,
    Port,
    Register,
    RegisterError,
    open_port,
    parse_register,
    pattern_from_json,
)
from steelyard.store import Shelf, Store
from steelyard.web.settings import Settings
from steelyard.web.station.wiring import NAME, Routes, Wiring, WiringError, given_wirings, read_wirings, together


class SourceError(ValueError):
    """A live source that cannot be; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Connected:
    """The instruments as they are wired.

    Attributes
    ----------
    ports: a port for each; nothing is connected yet. wirings: what counts of each. given: what was said at the start.
    routes: which pad each channel is.
    """

    ports: tuple[Port, ...] = ()
    wirings: Mapping[str, Wiring] = field(default_factory=dict[str, Wiring])
    given: Mapping[str, Wiring] = field(default_factory=dict[str, Wiring])
    routes: Routes = field(default_factory=Routes)


def connect(settings: Settings, store: Store, others: Sequence[Port] = ()) -> Connected:
    """The instruments that the station was started with, and ``others``. Waits for the database.

    Of ``settings``, ``registers`` are those of Modbus instruments, ``NAME/CHANNEL=...``, without ``NAME/`` where there
    is only one. A port of lines reads them by the pattern that was chosen for it, else by the one that was taught under
    its name, and shows them raw where there is none.

    Raises
    ------
    SourceError: a name, an address, a register, a pattern or a pad that is none.
    """
    sources = dict(_source(text) for text in settings.instruments)
    if len(sources) < len(settings.instruments):
        raise SourceError("two instruments have the same name; give each its own")
    modbus = [name for name, address in sources.items() if address.startswith("modbus")]
    wanted = _registers(settings.registers, modbus)
    try:
        given = given_wirings(sources, settings.patterns, settings.pads)
    except WiringError as error:
        raise SourceError(str(error)) from None
    _refuse_untaught(store, given)
    wirings = together(read_wirings(store), given)
    try:
        ports = tuple(
            open_port(name, address, pattern=pattern_of(store, name, wirings.get(name)), registers=wanted.get(name, ()))
            for name, address in sources.items()
        )
    except AddressError as error:
        raise SourceError(str(error)) from None
    return Connected(ports, wirings, given, routes_of((*ports, *others), wirings))


def routes_of(ports: Sequence[Port], wirings: Mapping[str, Wiring]) -> Routes:
    """Which pad each channel of these ports is."""
    return Routes({port.name: port.known_channels for port in ports}, wirings)


def pattern_of(store: Store, name: str, wiring: Wiring | None) -> LinePattern | None:
    """The pattern by which an instrument's lines are read, None where there is none."""
    chosen = None if wiring is None or wiring.pattern is None else taught(store, wiring.pattern)
    return taught(store, name) if chosen is None else chosen


def taught(store: Store, name: str) -> LinePattern | None:
    """The pattern that was taught under a name; None where there is none that this version reads."""
    kept = store.kept(Shelf.TEACHING, name)
    try:
        return None if kept is None else pattern_from_json(kept.text)
    except PatternError:
        return None


def _refuse_untaught(store: Store, given: Mapping[str, Wiring]) -> None:
    for wiring in given.values():
        if wiring.pattern is not None and taught(store, wiring.pattern) is None:
            names = ", ".join(kept.name for kept in store.shelf(Shelf.TEACHING)) or "none yet"
            raise SourceError(f"no pattern {wiring.pattern!r} was taught to this store; there are: {names}")


def _source(text: str) -> tuple[str, str]:
    name, sign, address = text.partition("=")
    if not sign or not NAME.fullmatch(name):
        raise SourceError(
            f"{text!r} is not an instrument; write its name and its address, as in p1=tcp:192.168.1.20:4001"
        )
    return name, address


def _registers(texts: Sequence[str], modbus: Sequence[str]) -> Mapping[str, list[Register]]:
    found: dict[str, list[Register]] = {}
    for text in texts:
        left, sign, right = text.partition("=")
        owner, slash, channel = left.rpartition("/")
        if not slash and len(modbus) == 1:
            owner = modbus[0]
        if not sign or owner not in modbus:
            names = ", ".join(modbus) or "none"
            raise SourceError(f"{text!r} names no Modbus instrument; there are {names}: write NAME/CHANNEL=...")
        try:
            found.setdefault(owner, []).append(parse_register(f"{channel}={right}"))
        except RegisterError as error:
            raise SourceError(str(error)) from None
    return found
