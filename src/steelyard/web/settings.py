"""The settings that the station is started with."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from steelyard.folders import data_folder

DEFAULT_PORT = 8765
API = "/api/v1"
"""Where the interface for programs begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How one station runs.

    Attributes
    ----------
    store: path of an SQLite file or URL of a PostgreSQL database.
    port: that the browser sees; part of the cookie's name, for cookies know no ports.
    token: with it, scripts may write (``Authorization: Bearer``); None: no script may.
    lan: whether devices other than this one may come in, once paired.
    https: whether the browser speaks TLS with the station.
    addresses: further hosts by which browsers may call the station, in lower case: a LAN address, a name.
    simulate: a weigh day whose rig stands on virtual pads.
    instruments: live sources, each ``NAME=ADDRESS``. registers: of those that speak Modbus.
    patterns: of those that print lines, each ``NAME=PATTERN``. pads: of their channels, each ``NAME/CHANNEL=PAD``.
    keys: the folder of the weighers' keys; None: the usual one.
    """

    store: str | os.PathLike[str]
    port: int = DEFAULT_PORT
    token: str | None = None
    lan: bool = False
    https: bool = False
    addresses: tuple[str, ...] = ()
    simulate: str | os.PathLike[str] | None = None
    instruments: tuple[str, ...] = ()
    registers: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    pads: tuple[str, ...] = ()
    keys: str | os.PathLike[str] | None = None


def default_store() -> Path:
    """Where the store lies if nobody says otherwise."""
    return data_folder() / "station.db"
