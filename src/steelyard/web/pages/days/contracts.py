"""Data for the list of days and for the form of a new rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class DayCard:
    """One weigh day in the list; ``hint`` is why it stands ``first``.

    ``begun`` tells it from a ``twin``, another day of the list that has the same title. ``away``: it was put away.
    """

    id: str
    title: str
    kept: str
    begun: str = ""
    twin: bool = False
    hint: str = ""
    first: bool = False
    away: bool = False


@dataclass(frozen=True, slots=True)
class AwayLine:
    """A thing that was put away.

    ``said``: since when and by whom. ``back``: the address that brings it back. ``href``: its own.
    """

    title: str
    said: str
    back: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class DoneAct:
    """The act of a moment ago in words, and the address that undoes it; a renaming is undone by the old ``title``.

    ``field``: the name under which that is sent.
    """

    words: str
    undo: str
    title: str = ""
    field: str = "title"


@dataclass(frozen=True, slots=True)
class HomePage:
    """The days, newest first, the one to try on top; or those that were searched for.

    Attributes
    ----------
    older: the address of the next page, None at the end. search: what was typed; empty where nothing is looked for.
    searchable: whether there is a field for it. back_to: how far back the search looked where it has not looked at all
        days yet; else empty.
    away, more_away: the days that were put away, and how many more there are than are shown. with_away: whether the
        search found those too. done: what was done just now, which can be undone.
    """

    days: tuple[DayCard, ...]
    older: str | None = None
    search: str = ""
    searchable: bool = False
    back_to: str = ""
    away: tuple[AwayLine, ...] = ()
    more_away: int = 0
    with_away: bool = False
    done: DoneAct | None = None


@dataclass(frozen=True, slots=True)
class YardRig:
    """A vehicle of the yard that can stand there again: its name in the yard, and what it is, in words."""

    name: str
    title: str
    says: str
    tows: bool


@dataclass(frozen=True, slots=True)
class YardPad:
    """An instrument of the yard, and what it is, in words."""

    name: str
    says: str


@dataclass(frozen=True, slots=True)
class NewPage:
    """A new rig: the answers so far and what is wrong with them, by field; ``""`` is the whole.

    ``rigs`` and ``pads`` are what the yard has. ``surfaces``: the words for the ground. ``yard``: the yard for a device
    that begins a day without the station; see ``pages.unsent.yard``.
    """

    values: Mapping[str, str] = field(default_factory=dict[str, str])
    faults: Mapping[str, str] = field(default_factory=dict[str, str])
    rigs: tuple[YardRig, ...] = ()
    pads: tuple[YardPad, ...] = ()
    surfaces: tuple[str, ...] = ()
    yard: Mapping[str, Any] = field(default_factory=dict[str, Any])
