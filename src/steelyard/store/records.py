"""Values that the store takes and returns."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeAlias

from steelyard.dayfile import Part

DayId: TypeAlias = str
"""The name of a day in the store: ten letters and digits, fit for an address."""

LARGEST_PHOTO = 5_000_000
"""The most bytes of a photo."""


LARGEST_SWEEP = 8_000_000
"""The most bytes of a log of growing load."""


@dataclass(frozen=True, slots=True)
class DayEntry:
    """Something to be added to a day.

    Attributes
    ----------
    kind: what the block adds.
    key: made by whoever adds it; the same key again is the same entry. A draft's block carries it too.
    text: a block of TOML that is sound at the end of the day's text.
    device: who adds it; empty where nobody in particular.
    at: when it was made, by the clock of whoever made it.
    """

    kind: Part
    key: str
    text: str
    device: str = ""
    at: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class StoredEntry:
    """An entry as it was kept.

    Attributes
    ----------
    seq: place among the additions to its day, from 1.
    number: place among the things of its kind in the whole file, from 1: a draft's number.
    received: when the store had it, by the clock of the server, with its offset.
    link, digest: its place in the chain of the day and its digest there; None and empty where it has none.
    """

    seq: int
    kind: Part
    key: str
    number: int
    text: str
    device: str
    at: datetime.datetime | None
    received: datetime.datetime
    link: int | None
    digest: str


@dataclass(frozen=True, slots=True)
class Appended:
    """Result of an addition; it is durable.

    Attributes
    ----------
    seq: its place among the additions to its day; 0 for a draft that came with the imported text.
    replay: whether it was there before; the first text was kept.
    number: place among the things of its kind in the whole file, from 1: a draft's number.
    """

    seq: int
    replay: bool
    number: int


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A day's whole text as of addition ``seq`` (0: as it was imported)."""

    seq: int
    text: str


@dataclass(frozen=True, slots=True)
class StoredText:
    """The whole text of a day, as one of many that are read one after the other.

    Attributes
    ----------
    changed: when something was last added to the day, else when it was made; as the store writes it, ISO 8601 in UTC.
    text: with a half character for each byte that is no UTF-8, and empty, where somebody else wrote or deleted it.
    """

    id: DayId
    changed: str
    text: str


@dataclass(frozen=True, slots=True)
class ChainHead:
    """The newest digest of a day, which is over all that was kept of it until then.

    Attributes
    ----------
    link: its place in the chain of the day, from 0 for the day as it was imported.
    seq: the last addition before it, 0 where there is none.
    digest: SHA-256 in hexadecimal; empty where the day has no chain.
    """

    link: int
    seq: int
    digest: str


class ItemState(StrEnum):
    """How something in the history of a day was found, held against its digest."""

    KEPT = "kept"
    CHANGED = "changed"
    MOVED = "moved"
    DELETED = "deleted"
    PUT_IN = "put in"
    BROKEN = "digest does not follow"


@dataclass(frozen=True, slots=True)
class HistoryItem:
    """Something that was kept of a day, in the order of its chain, as it lies in the store, which may be damaged.

    Attributes
    ----------
    link: its place in the chain; None where it has no digest. kind: ``day`` for the day as it was imported, the section
        of the file that an addition is for, ``picture``, ``photo`` (an older one, of a draft) or ``log``.
    seq: of an addition, else 0. number: of an addition among its kind, or of a log; else 0.
    key: of an addition or a log, the digest of a picture, the draft's of a photo, the title of the day.
    received, at: when it was kept by the clock of the server, and when it was made, if that was said.
    text: the block of an addition, else empty. digest: in hexadecimal; empty where it has none.
    """

    link: int | None
    kind: str
    seq: int
    number: int
    key: str
    device: str
    received: str
    at: str | None
    text: str
    digest: str
    state: ItemState


@dataclass(frozen=True, slots=True)
class DayHistory:
    """All that was kept of a day, and whether it is as it was kept.

    Attributes
    ----------
    faults: what is not, a sentence each; empty where all fits. notes: what is to be known of it besides.
    """

    id: DayId
    title: str
    items: tuple[HistoryItem, ...]
    head: ChainHead
    faults: tuple[str, ...]
    notes: tuple[str, ...]

    def link_of(self, digest: str) -> int | None:
        """The place in the chain of a digest that was noted before, as in a seal; None where it is not in it."""
        return next((item.link for item in self.items if item.digest == digest), None)


@dataclass(frozen=True, slots=True)
class DaySummary:
    """A line of the list of days. ``seq`` is that of the last addition, 0 where there is none."""

    id: DayId
    title: str
    created: datetime.datetime
    changed: datetime.datetime
    drafts: int
    seq: int


@dataclass(frozen=True, slots=True)
class FoundDays:
    """A page of the days that a search found, newest first.

    Attributes
    ----------
    more: the day before which the next page begins; None where nothing more can be found.
    back_to: set where the search stopped looking before the page was full: when the last day it looked at was made.
    """

    days: tuple[DaySummary, ...]
    more: DayId | None
    back_to: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture that belongs to a draft."""

    media_type: str
    data: bytes


@dataclass(frozen=True, slots=True)
class SweepRecord:
    """A log of growing load that belongs to a day.

    Attributes
    ----------
    number: place among the logs of its day, from 1. key: made by whoever keeps it; the same key again is the same log.
    text: comma-separated, as ``dayfile.read_log`` takes it; empty in a list of logs.
    about: the state, what stood under each place, and what else was said of it, as JSON values.
    """

    number: int
    key: str
    text: str
    about: Mapping[str, Any]
    device: str
    received: datetime.datetime


@dataclass(frozen=True, slots=True)
class KeptSeal:
    """A seal of a day.

    Attributes
    ----------
    seq: the last addition that is in the sealed day. person: the weigher who sealed it, as the folder of keys has them.
    head: the digest of the day's chain that it names, in hexadecimal; empty where it names none.
    data: the bytes of the seal. findings: the published findings as they were sealed; empty in a list of seals.
    number: place among the seals of its day, from 1; 0 before it is kept. received: None before it is kept.
    """

    seq: int
    person: str
    head: str
    data: bytes
    findings: bytes
    device: str = ""
    number: int = 0
    received: datetime.datetime | None = None


class Shelf(StrEnum):
    """Shelves of named things that outlive a day."""

    VEHICLE = "vehicle"
    INSTRUMENT = "instrument"
    TEACHING = "teaching"
    WIRING = "wiring"
    PLAN = "plan"
    VERIFICATION = "verification"


@dataclass(frozen=True, slots=True)
class Kept:
    """One version of a named thing.

    Attributes
    ----------
    version: from 1; the last one counts.
    text: the thing itself: a block of TOML for a vehicle or an instrument, JSON for a taught pattern of lines
        for what was chosen for a connected instrument, and for the plan of a day, which has the day's name; the file
        of a verification as it came.
    learned: what weighing has shown of it beyond its labels, as JSON values.
    """

    shelf: Shelf
    name: str
    version: int
    text: str
    learned: Mapping[str, Any]
    device: str
    saved: datetime.datetime


class Listed(StrEnum):
    """The lists from which a thing can be put away."""

    DAY = "day"
    VEHICLE = "vehicle"
    INSTRUMENT = "instrument"


class Away(StrEnum):
    """Which days a list or a search has: without those that were put away, with them, or those alone."""

    WITHOUT = "without"
    WITH = "with"
    ONLY = "only"


@dataclass(frozen=True, slots=True)
class PutAway:
    """A thing that is away from its list: ``since`` when, and the ``device`` that put it away."""

    kind: Listed
    name: str
    since: datetime.datetime
    device: str


class DeviceRole(StrEnum):
    """Permission of a device: keep drafts, or only look."""

    WEIGH = "weigh"
    LOOK = "look"


@dataclass(frozen=True, slots=True)
class Device:
    """A device that was let in; ``revoked`` is when it was shut out again."""

    id: str
    name: str
    role: DeviceRole
    created: datetime.datetime
    revoked: datetime.datetime | None = None
