"""Renaming: a later title of a day, kept as an addition to its text, and another name of a vehicle of the yard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from steelyard.dayfile import Part, read_title, write_title, write_vehicle
from steelyard.model import WeighDay
from steelyard.store import Kept
from steelyard.web.station.book import Addition
from steelyard.web.station.yard import read_kept, units_of_kept


def retitled(key: str, data: Mapping[str, Any], device: str, expect: int | None) -> Addition:
    """The addition that gives a day another title; ``data`` is shaped as ``[[titles]]`` in the file."""

    def make(day: WeighDay) -> str:
        return write_title(read_title(day, dict(data)))

    def same(day: WeighDay, number: int) -> bool:
        return day.later_titles[number - 1] == read_title(replace(day, earlier_titles=()), dict(data))

    return Addition(Part.TITLE, key, device, make, same, expect=expect)


def renamed_vehicle(kept: Kept, name: str) -> str:
    """The block of a vehicle of the yard under another name for people.

    Raises
    ------
    DayFileError: the name says nothing, is too long, or is not one line.
    """
    name = read_title(WeighDay(), {"title": name})
    vehicle = read_kept(kept).vehicles[kept.name]
    return write_vehicle(replace(vehicle, name=name), units_of_kept([kept]))
