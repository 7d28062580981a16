"""The live sources as they are written on the command line, with the patterns that were taught."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

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

_NAME = re.compile(r"[A-Za-z0-9_-]{1,40}")


class SourceError(ValueError):
    """A live source that cannot be; the message says what would be right."""


def open_ports(instruments: Sequence[str], registers: Sequence[str], store: Store) -> tuple[Port, ...]:
    """A port for each of ``instruments``, ``NAME=ADDRESS``; nothing is connected yet.

    ``registers`` are those of Modbus instruments, ``NAME/CHANNEL=...``, without ``NAME/`` where there is only one. A
    port of lines reads them by the pattern that was taught under its name, and shows them raw where none was.

    Raises
    ------
    SourceError: a name, an address or a register that is none.
    """
    sources = dict(_source(text) for text in instruments)
    if len(sources) < len(instruments):
        raise SourceError("two instruments have the same name; give each its own")
    modbus = [name for name, address in sources.items() if address.startswith("modbus")]
    wanted = _registers(registers, modbus)
    try:
        return tuple(
            open_port(name, address, pattern=taught(store, name), registers=wanted.get(name, ()))
            for name, address in sources.items()
        )
    except AddressError as error:
        raise SourceError(str(error)) from None


def taught(store: Store, name: str) -> LinePattern | None:
    """The pattern that was taught under a name; None where there is none that this version reads."""
    kept = store.kept(Shelf.TEACHING, name)
    try:
        return None if kept is None else pattern_from_json(kept.text)
    except PatternError:
        return None


def _source(text: str) -> tuple[str, str]:
    name, sign, address = text.partition("=")
    if not sign or not _NAME.fullmatch(name):
        raise SourceError(f"{text!r} is no instrument; write its name and its address, as in p1=tcp:192.168.1.20:4001")
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
