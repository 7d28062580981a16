"""Weigh days as lines of a list; days of one title are told apart by when they were begun."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Sequence

from steelyard.store import DaySummary
from steelyard.web.pages.days.contracts import DayCard


def cards(days: Sequence[DaySummary]) -> list[DayCard]:
    """The days as cards; those of one title are told apart by when they were begun, to the second where it must be."""
    titles = Counter(title(day) for day in days)
    return [_card(day, twin=titles[title(day)] > 1) for day in days]


def _card(day: DaySummary, *, twin: bool = False) -> DayCard:
    begun = f"begun {when(day.created, twin=twin)}"
    changed = f", last change {when(day.changed)}" if day.seq else ""
    return DayCard(day.id, title(day), f"{count(day)}, {begun}{changed} UTC", begun, twin)


def title(day: DaySummary) -> str:
    """The title of a day, or what one without is called."""
    return day.title or "Weigh day"


def count(day: DaySummary) -> str:
    """How many drafts a day has, in words."""
    return f"{day.drafts} draft{'' if day.drafts == 1 else 's'}"


def when(moment: datetime.datetime, *, twin: bool = False) -> str:
    """A moment by the clock, to the second where two days must be told apart."""
    return f"{moment:%Y-%m-%d %H:%M:%S}" if twin else f"{moment:%Y-%m-%d %H:%M}"
