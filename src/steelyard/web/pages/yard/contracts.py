"""Data for the yard page."""

from __future__ import annotations

from dataclasses import dataclass

from steelyard.web.pages.days.contracts import AwayLine, DayCard, DoneAct


@dataclass(frozen=True, slots=True)
class YardCard:
    """A vehicle or an instrument that is kept between days; ``shelf`` as addresses call it."""

    name: str
    title: str
    lines: tuple[str, ...]
    versions: int
    shelf: str


@dataclass(frozen=True, slots=True)
class YardTwin:
    """A thing of a day whose name the yard has for something else: which of the two, or both.

    Attributes
    ----------
    shelf, name: under which it would be kept. kept, coming: the one of the yard and the one of the day.
    only_kept, only_coming: what the file says of the one and not of the other. other: a name that is free.
    choice, typed: what was chosen, and the name that was typed with it. fault: why that cannot be.
    """

    shelf: str
    name: str
    kept: YardCard
    coming: YardCard
    only_kept: tuple[str, ...]
    only_coming: tuple[str, ...]
    other: str
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
