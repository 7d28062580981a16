"""Drafts, readings and corrections. No reading is ever overwritten: a correction stands beside it, with a reason."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from steelyard.model.place import Place, WheelRef


@dataclass(frozen=True, slots=True)
class WrittenReading:
    """A reading as it was taken: what instrument showed what [kg], where."""

    place: Place
    instrument: str
    value: float


@dataclass(frozen=True, slots=True)
class Correction:
    """A new record beside a reading: another value [kg], or None to set the reading aside; always with a reason."""

    draft: int
    place: str
    value: float | None
    reason: str
    at: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading as it counts: the written one with the last correction applied."""

    place: Place
    instrument: str
    value: float
    written: float
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Draft:
    """One simultaneous set of readings in one state.

    ``number`` counts from 1 in file order. ``placement``: drafts of the same name were taken without moving the rig or
    the pads. ``on_ground``: wheels without a pad stand on the ground, not at the pads' height.
    ``blocks``: those of them that stand on blocks as high as the pads.
    """

    number: int
    state: str
    readings: tuple[WrittenReading, ...]
    key: str | None = None
    at: datetime.datetime | None = None
    label: str = ""
    note: str = ""
    placement: str | None = None
    on_ground: bool = False
    blocks: tuple[WheelRef, ...] = ()

    @property
    def title(self) -> str:
        """The name for people: label, else key, else the number."""
        return self.label or self.key or f"draft {self.number}"
