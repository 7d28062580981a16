"""Drafts, readings and corrections. No reading is ever overwritten: a correction stands beside it, with a reason."""

from __future__ import annotations

import datetime
from dataclasses import field

from steelyard.classes import dataclass
from steelyard.model.place import Place, WheelRef
from steelyard.units import Quantity


@dataclass(frozen=True, slots=True)
class WrittenReading:
    """A reading as it was taken: what instrument showed what [kg], where."""

    place: Place
    instrument: str
    value: float


@dataclass(frozen=True, slots=True)
class Correction:
    """A new record beside a reading: another value [kg], or None to set the reading aside; always with a reason.

    One with a ``label`` is of the whole draft, which is called so from then on: ``place`` is empty, no reading changes.
    One of a ``state`` is of no draft, whose number is then 0: it has another ``label``, or is put ``away`` or back.
    """

    draft: int
    place: str
    value: float | None
    reason: str
    at: datetime.datetime | None = None
    label: str | None = None
    state: str | None = None
    away: bool | None = None

    @property
    def of_reading(self) -> bool:
        """Whether it is beside a reading, not beside a whole draft or a state."""
        return self.label is None and self.state is None


@dataclass(frozen=True, slots=True)
class CountedReading:
    """A reading as it counts: the written one with the last correction applied."""

    place: Place
    instrument: str
    value: float
    written: float
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Raise:
    """An axle, or a trailer's coupling point (``axle`` None), raised for a draft.

    ``height`` [m] is by how much its wheel centres (or the coupling point) stand higher against those of the other
    axles than they do on level ground.
    """

    vehicle: str
    axle: int | None
    height: Quantity

    @property
    def place(self) -> str:
        """``tow/2`` or ``stock/coupling``."""
        return f"{self.vehicle}/{'coupling' if self.axle is None else self.axle}"


@dataclass(frozen=True, slots=True)
class Draft:
    """One simultaneous set of readings in one state.

    ``number`` counts from 1 in file order. ``placement``: drafts of the same name were taken without moving the rig or
    the pads. ``on_ground``: wheels without a pad stand on the ground, not at the pads' height. ``blocks``: those of
    them that stand on blocks as high as the pads. ``reversed``: the rig faced the other way, so that the slope of the
    site had the other sign. ``raised``: what was lifted; such a draft serves the height of the centre of gravity alone.
    ``blocked``: its suspension could not move then.
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
    reversed: bool = False
    raised: tuple[Raise, ...] = ()
    blocked: bool = False
    blocks: tuple[WheelRef, ...] = ()
    _as_written: tuple[CountedReading, ...] | None = field(default=None, init=False, repr=False, compare=False)

    def as_written(self) -> tuple[CountedReading, ...]:
        """The readings as they count where nothing corrects them; made once, for every day that has this draft."""
        if self._as_written is None:
            made = tuple(CountedReading(one.place, one.instrument, one.value, one.value) for one in self.readings)
            object.__setattr__(self, "_as_written", made)
            return made
        return self._as_written

    @property
    def title(self) -> str:
        """The name for people: label, else key, else the number."""
        return self.label or self.key or f"draft {self.number}"
