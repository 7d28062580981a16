"""Data for the yard page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from steelyard.web.pages.days.contracts import AwayLine, DayCard, DoneAct
from steelyard.web.pages.shell.contracts import PageLink


@dataclass(frozen=True, slots=True)
class YardCard:
    """A vehicle or an instrument that is kept between days; ``shelf`` as addresses call it."""

    name: str
    title: str
    lines: tuple[str, ...]
    versions: int
    shelf: str


@dataclass(frozen=True, slots=True)
class SideBySide:
    """One thing that two versions say differently, in words; empty where one does not say it."""

    what: str
    one: str
    other: str


@dataclass(frozen=True, slots=True)
class MissingRating:
    """A rating that the yard has and a new version lacks. ``keep``: what was chosen of it, ``keep`` or ``gone``."""

    key: str
    words: str
    value: str
    keep: str = ""


@dataclass(frozen=True, slots=True)
class ThingVersion:
    """One version of a thing: when it was kept and by which device, and the day that it came from."""

    number: int
    saved: str
    device: str
    day: str = ""
    day_href: str = ""
    verification: str = ""


@dataclass(frozen=True, slots=True)
class DriftPoint:
    """The result of one verification of a pad, for the table beside the chart."""

    date: str
    span: str
    doubt: str


@dataclass(frozen=True, slots=True)
class ThingPage:
    """One thing of the yard with all its versions.

    Attributes
    ----------
    versions: the newest first. one, other: numbers of the two that are compared; 0 where there is one alone.
    rows: what differs between them. units: of the figures. drift: the chart of a pad's verifications, ``points`` beside
        it. done: what was done just now, which can be undone.
    """

    card: YardCard
    versions: tuple[ThingVersion, ...]
    one: int
    other: int
    rows: tuple[SideBySide, ...]
    units: str
    drift: str = ""
    points: tuple[DriftPoint, ...] = ()
    done: DoneAct | None = None


@dataclass(frozen=True, slots=True)
class YardTwin:
    """A thing of a day that the yard has too, changed or under another name: which of the two, or both.

    Attributes
    ----------
    shelf, name: of the thing in its day. kept, coming: the one of the yard and the one of the day.
    rows: what differs between them. missing: ratings that only the one of the yard has. other: a name that is free.
    alike: whether they have different names and look alike.
    choice, typed: what was chosen, and the name that was typed with it. fault: why that cannot be.
    """

    shelf: str
    name: str
    kept: YardCard
    coming: YardCard
    rows: tuple[SideBySide, ...]
    missing: tuple[MissingRating, ...]
    other: str
    alike: bool
    choice: str = ""
    typed: str = ""
    fault: str = ""


@dataclass(frozen=True, slots=True)
class YardPage:
    """The yard.

    Attributes
    ----------
    twins: asked about before anything of the day ``taking`` is taken in. vehicles_away, instruments_away: what was put
        away.
    done: what was done just now, which can be undone.
    """

    vehicles: tuple[YardCard, ...]
    instruments: tuple[YardCard, ...]
    days: tuple[DayCard, ...] = ()
    taking: str = ""
    twins: tuple[YardTwin, ...] = ()
    vehicles_away: tuple[AwayLine, ...] = ()
    instruments_away: tuple[AwayLine, ...] = ()
    done: DoneAct | None = None


@dataclass(frozen=True, slots=True)
class VerifyPage:
    """A verification to be walked at the pads.

    Attributes
    ----------
    pads: of the yard. classes: those that a plate may say. phases: of the tables of tolerances, each with its words.
    date, due: the dates to begin with. kept: earlier verifications. data: for the script.
    """

    pads: tuple[str, ...]
    classes: tuple[str, ...]
    phases: tuple[tuple[str, str], ...]
    date: str
    due: str
    kept: tuple[PageLink, ...]
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class VerifiedPad:
    """One pad after its tests; ``interval``: the 95 % interval of its span. ``basis``: what that rests on."""

    name: str
    grade: str
    span: str
    interval: str
    zero: str
    repeatability: str
    verdict: str
    chance: str
    basis: str


@dataclass(frozen=True, slots=True)
class JudgedLine:
    """One thing that a test showed, beside its tolerance. ``reason``: why it is undecided; empty where it is not."""

    what: str
    error: str
    tolerance: str
    chance: str
    verdict: str
    reason: str


@dataclass(frozen=True, slots=True)
class JudgedTest:
    """A test with its judgements; ``verdict``: the worst of them."""

    title: str
    verdict: str
    lines: tuple[JudgedLine, ...]


@dataclass(frozen=True, slots=True)
class RecordOfVerification:
    """The record of a verification in the yard. ``unit``: of its masses. ``files``: to take away."""

    name: str
    title: str
    facts: str
    tolerances: str
    unit: str
    pads: tuple[VerifiedPad, ...]
    tests: tuple[JudgedTest, ...]
    cautions: tuple[str, ...]
    files: tuple[PageLink, ...]
