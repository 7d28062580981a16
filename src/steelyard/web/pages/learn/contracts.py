"""Data for the page that learns the rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from steelyard.web.pages.shell.contracts import PageLink


@dataclass(frozen=True, slots=True)
class LearnedLine:
    """One thing learned in words, and what statics expects of it."""

    name: str
    value: str
    interval: str
    statics: str


@dataclass(frozen=True, slots=True)
class LearnedGroup:
    """Things learned of one kind; ``unit`` stands above the figures."""

    title: str
    rows: tuple[LearnedLine, ...]


@dataclass(frozen=True, slots=True)
class LearnedResult:
    """The result of one log. ``said`` are the slopes in sentences; ``fault`` says why the log teaches nothing.

    ``query`` holds the chosen options, for addresses; ``gains`` names the keys that the vehicle's block would gain.
    """

    number: int
    name: str
    head: str
    fault: str = ""
    said: tuple[str, ...] = ()
    chart: Markup | None = None
    key: tuple[str, ...] = ()
    groups: tuple[LearnedGroup, ...] = ()
    undetermined: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    vehicle: str = ""
    gains: tuple[str, ...] = ()
    query: str = ""
    on: str = ""
    at: str = ""
    vehicles: tuple[PageLink, ...] = ()
    couplings: tuple[PageLink, ...] = ()


@dataclass(frozen=True, slots=True)
class LearnPage:
    """Learn the rig: ``data`` goes to the script as it is, see ``pages.learn.page.learn_page``.

    ``unheard`` says why no reading comes from an indicator; empty where one has a pad of the day. ``columns`` shows the
    head of a log.
    """

    id: str
    title: str
    unit: str
    states: tuple[PageLink, ...]
    logs: tuple[PageLink, ...]
    result: LearnedResult | None
    cautions: tuple[str, ...]
    simulated: tuple[PageLink, ...]
    unheard: str
    columns: str
    data: Mapping[str, Any]
