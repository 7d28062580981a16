"""The lists of days and of the yard: things that were put away, and the act that can be undone now."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from steelyard.store import Away, Listed, PutAway, Reason, StoreError
from steelyard.web.pages.days.cards import title
from steelyard.web.pages.days.contracts import AwayLine, DoneAct
from steelyard.web.pages.shell.contracts import To
from steelyard.web.pages.shell.moment import moment
from steelyard.web.station.station import Station

MOST_SHOWN = 30
"""Things put away that one page shows."""

_LONGEST = 80  # letters of a name in a sentence


async def days_away(station: Station, to: To) -> tuple[tuple[AwayLine, ...], int]:
    """The days that were put away, those begun last first, and how many more there are."""
    away = {one.name: one for one in await station.run(station.store.away, Listed.DAY)}
    if not away:
        return (), 0
    days = await station.days(MOST_SHOWN, None, Away.ONLY)
    lines = [
        AwayLine(title(day), said(away[day.id]), to("bring_day_back", day=day.id), to("bench", day=day.id))
        for day in days
        if day.id in away
    ]
    return tuple(lines), max(len(away) - len(lines), 0)


def said(one: PutAway) -> Markup:
    """Since when a thing is away, and by whom."""
    by = {"": "", "this device": " at the station"}.get(one.device, f" from {one.device}")
    return Markup("put away {}{}").format(moment(one.since), by)


async def day_act(station: Station, asked: Mapping[str, str], to: To) -> DoneAct | None:
    """The act on a day that was done just now, as the address of the page names it; None where it holds no more."""
    act, day_id = asked.get("did", ""), asked.get("to", "")
    if act not in ("away", "back", "renamed") or not day_id.isalnum():
        return None
    try:
        day = (await station.day(day_id)).day
    except StoreError as error:
        if error.reason is Reason.NO_SUCH_DAY:
            return None  # somebody wrote the address
        raise
    name = short(day.title or "Weigh day")
    gone = day_id in {one.name for one in await station.run(station.store.away, Listed.DAY)}
    if act == "renamed":
        if not day.earlier_titles:
            return None
        before = day.earlier_titles[-1]
        words = f"“{short(before or 'Weigh day')}” is called “{name}” now. The old name stays on record."
        return DoneAct(words, to("rename_day", day=day_id), before or "Weigh day")
    undo = to("bring_day_back", day=day_id) if gone else to("put_day_away", day=day_id)
    return put_away_act(name, act, undo, gone=gone)


def put_away_act(name: str, act: str, undo: str, *, gone: bool) -> DoneAct | None:
    """The act of putting away, or of bringing back; None where it was undone meanwhile."""
    if act == "away" and gone:
        return DoneAct(f"“{name}” was put away. Nothing of it is deleted.", undo)
    if act == "back" and not gone:
        return DoneAct(f"“{name}” is in the list again.", undo)
    return None


def short(name: str) -> str:
    """A name as it stands in a sentence."""
    return name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1]}…"
