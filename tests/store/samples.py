"""A small weigh day, and what can be added to it."""

from __future__ import annotations

import datetime
import hashlib
import re
from collections.abc import Callable
from pathlib import Path

from steelyard.dayfile import Part
from steelyard.store import DayEntry, Photo, Store

ROOT = Path(__file__).parents[2]
FILES = [
    path
    for path in sorted([*(ROOT / "examples").glob("*.toml"), *(ROOT / "tests" / "released").glob("*.toml")])
    if not re.search('^kind = "(verification|rules)"', path.read_text(encoding="utf-8"), re.MULTILINE)
]
OPEN = Callable[[], Store]

HEAD = """\
format = 1
title = "Ferry landing"
units = { mass = "lb", length = "in" }
"""

DAY = (
    HEAD
    + """
[instruments.p1]
kind = "pad"
capacity = "12000 lb"
division = "20 lb"
[instruments.p2]
kind = "pad"
capacity = "12000 lb"
division = "20 lb"

[vehicles.van]
role = "towing"
[[vehicles.van.axles]]
x = "0 in"
track = "64 in"
[[vehicles.van.axles]]
x = "140 in"
track = "64 in"

[cargo.driver]
on = "van"
mass = "180 lb"
x = "50 in"

[states.solo]
vehicles = ["van"]
cargo = ["driver"]

[[drafts]]
key = "first"
state = "solo"
readings = { "van/1L" = ["p1", 1800], "van/1R" = ["p2", 1820] }
"""
)


def draft(key: str, value: int = 1500, *, device: str = "", at: datetime.datetime | None = None) -> DayEntry:
    """A draft of one reading."""
    text = f'[[drafts]]\nkey = "{key}"\nstate = "solo"\nreadings = {{ "van/2L" = ["p1", {value}] }}\n'
    return DayEntry(Part.DRAFT, key, text, device, at)


def state(key: str, name: str) -> DayEntry:
    """A state without cargo."""
    return DayEntry(Part.STATE, key, f'[states.{name}]\nvehicles = ["van"]\n')


def cargo(key: str, name: str) -> DayEntry:
    """A cargo of unknown mass."""
    return DayEntry(Part.CARGO, key, f'[cargo.{name}]\non = "van"\nx = "120 in"\n')


def correction(key: str, of: str, value: int) -> DayEntry:
    """A correction of the reading that ``draft`` writes."""
    text = f'[[corrections]]\ndraft = "{of}"\nplace = "van/2L"\nvalue = {value}\nreason = "misread"\n'
    return DayEntry(Part.CORRECTION, key, text)


def title(key: str, said: str, *, device: str = "") -> DayEntry:
    """Another title of the day."""
    return DayEntry(Part.TITLE, key, f'[[titles]]\ntitle = "{said}"\n', device)


def photograph(key: str, of: str, picture: Photo, *, device: str = "") -> DayEntry:
    """The record of a photograph of a whole draft."""
    digest = hashlib.sha256(picture.data).hexdigest()
    return DayEntry(Part.PHOTOGRAPH, key, f'[[photographs]]\ndraft = "{of}"\nsha256 = "{digest}"\n', device)
