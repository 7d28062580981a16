"""Weigh days as lines of a list; days of one title are told apart by when they were begun."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from markupsafe import Markup

from steelyard.store import DaySummary
from steelyard.web.pages.days.contracts import DayCard
from steelyard.web.pages.shell.moment import moment, moment_text


def cards(days: Sequence[DaySummary]) -> list[DayCard]:
    """The days as cards; those of one title are told apart by when they were begun, to the second where it must be."""
    titles = Counter(title(day) for day in days)
    return [_card(day, twin=titles[title(day)] > 1) for day in days]


def _card(day: DaySummary, *, twin: bool = False) -> DayCard:
    begun = Markup("begun {}").format(moment(day.created, to_the_second=twin))
    changed = Markup(", last change {}").format(moment(day.changed)) if day.seq else ""
    kept = Markup("{}, {}{}").format(count(day), begun, changed)
    return DayCard(day.id, title(day), kept, f"begun {moment_text(day.created, to_the_second=twin)}", twin)


def title(day: DaySummary) -> str:
    """The title of a day, or what one without is called."""
    return day.title or "Weigh day"


def count(day: DaySummary) -> str:
    """How many drafts a day has, in words."""
    return f"{day.drafts} draft{'' if day.drafts == 1 else 's'}"
