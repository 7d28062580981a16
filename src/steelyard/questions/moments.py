"""The record of a weigh day as it grew: at each moment the drafts that had been taken, or what the pads then showed.

Nothing later than a moment counts at it, and nothing is interpolated: the last draft or sample holds until the next.
Times are whole microseconds on the record's own clock, so that a frame falls on one side of a moment, never near it.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from steelyard.dayfile import SweepLog
from steelyard.model import Draft, State, WeighDay, WrittenReading
from steelyard.units import NumberError, read_number

SECOND = 1_000_000
"""Microseconds in a second."""

_EPOCH = datetime.datetime(1970, 1, 1)  # noqa: DTZ001 - the zero of a line of times; zones are taken off before
_TICK = datetime.timedelta(microseconds=1)
_LONGEST = 1e12  # s, so that every time can be written
_NAMED = 6  # drafts that one message lists
_TIME_TEXT = re.compile(
    r"(?:(?P<date>[0-9]{4}-[0-9]{2}-[0-9]{2})[T ])?"
    r"(?P<time>[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:[.,][0-9]{1,6})?)?(?:Z|[+-][0-9]{2}:?[0-9]{2})?)"
)
_LASTING_TEXT = re.compile(r"(?:([0-9]{1,2}):)?([0-9]{1,2}):([0-9]{2}(?:[.,][0-9]{1,6})?)")


class MomentError(ValueError):
    """Times that are missing or that contradict one another, or a text that is no time of the record."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment from which on more was known, and the weigh day with nothing that came later.

    Attributes
    ----------
    at: microseconds. state: the state that was weighed last. title: of the draft; empty for a sample of a log.
    """

    at: int
    day: WeighDay
    state: str
    title: str = ""


@dataclass(frozen=True, slots=True)
class RecordClock:
    """How the times of a record are written.

    Attributes
    ----------
    counted: as seconds from a beginning, not as times of day. offset: of the zone of the times of day; None where
    none is written. zones: whether they are written in several zones, and so are given in UTC. dates: the first and
    the last.
    """

    counted: bool
    offset: datetime.timedelta | None = None
    zones: bool = False
    dates: tuple[datetime.date, datetime.date] = (_EPOCH.date(), _EPOCH.date())

    def text(self, at: int) -> str:
        """``08:35:00``, with the date where the record has several, or ``12.5 s``."""
        if self.counted:
            return f"{at / SECOND:.6f}".rstrip("0").rstrip(".") + " s"
        moment = _moment(at, self.offset)
        time = f"{moment:%H:%M:%S}" + (f".{moment:%f}".rstrip("0") if moment.microsecond else "")
        dated = time if self.dates[0] == self.dates[1] else f"{moment:%Y-%m-%d} {time}"
        return f"{dated} UTC" if self.zones else dated

    def read(self, text: str) -> int:
        """The time of a text: a time of the day, a whole moment, or a number of seconds where the record counts them.

        Raises
        ------
        MomentError: it is no such time, or may be one of several.
        """
        if self.counted:
            return self._seconds(text)
        match = _TIME_TEXT.fullmatch(text.strip().upper())
        try:
            if match is not None:
                time = datetime.time.fromisoformat(("0" if match["time"][1] == ":" else "") + match["time"])
                if match["date"]:
                    date = datetime.date.fromisoformat(match["date"])
                    return self._placed(datetime.datetime.combine(date, time), text)
                return self._on_the_day(time, text)
        except ValueError as error:
            if isinstance(error, MomentError):
                raise
        raise MomentError(f"'{text}' is not a time; write for example 10:32:05 or 2026-05-14T10:32:05")

    def _seconds(self, text: str) -> int:
        try:
            value = read_number(text)
        except NumberError:
            value = float("nan")
        if not abs(value) < _LONGEST:
            raise MomentError(f"'{text}' is not a number of seconds, which the log counts; write for example 12.5")
        return round(value * SECOND)

    def _on_the_day(self, time: datetime.time, text: str) -> int:
        """The time on the one day of the record; in another zone it may be the day before or after."""
        first, last = self.dates
        if first != last:
            message = f"the record goes from {first} to {last}, so '{text}' may be either day"
            raise MomentError(f"{message}; write the whole moment, as in {first}T{time:%H:%M:%S}")
        at = self._placed(datetime.datetime.combine(first, time), text)
        return at + (first - _moment(at, self.offset).date()).days * 86_400 * SECOND

    def _placed(self, moment: datetime.datetime, text: str) -> int:
        if moment.tzinfo is None and self.zones:
            message = f"'{text}' has no zone, and the drafts are written in several"
            raise MomentError(f"{message}; write it with one, as in {moment.isoformat()}Z")
        if moment.tzinfo is not None and self.offset is None:
            raise MomentError(f"'{text}' has a zone, and the times of the record have none; leave it out")
        return _line(moment) - (0 if moment.tzinfo is not None else _ticks(self.offset))


@dataclass(frozen=True, slots=True)
class Timeline:
    """The moments of a record in order of time, at least one, and its clock.

    ``end`` is the time of the last draft or sample, in microseconds.
    """

    clock: RecordClock
    moments: tuple[Moment, ...]
    end: int

    @property
    def start(self) -> int:
        """The first moment, in microseconds."""
        return self.moments[0].at


def duration(text: str) -> int:
    """The microseconds of ``90``, ``1:30`` or ``0:01:30``: seconds, minutes and seconds, or hours too.

    Raises
    ------
    MomentError: it is no such text, or no time at all.
    """
    match = _LASTING_TEXT.fullmatch(text.strip())
    try:
        parts = [text] if match is None else [match[1] or "0", match[2], match[3]]
        value = sum(read_number(part) * 60**place for place, part in enumerate(reversed(parts)))
    except NumberError:
        value = float("nan")
    if not 0.0 < value < _LONGEST or round(value * SECOND) == 0:
        raise MomentError(f"'{text}' is not a duration; write seconds, as in 90, or minutes and seconds, as in 1:30")
    return round(value * SECOND)


def timeline_of_drafts(day: WeighDay) -> Timeline:
    """The moments at which drafts of ``day`` were taken, each with the drafts up to it.

    A correction counts from its draft on: it says what the pad really showed. A draft of a raised rig counts and makes
    no moment: the loads that are shown are those on level ground.

    Raises
    ------
    MomentError: no draft, a draft without a time, some with a zone and some without, or two at one time.
    """
    if not day.drafts:
        raise MomentError("has no draft, so there is no moment to show; take one, or give a log with --log")
    _refuse(day.drafts, lambda draft: draft.at is None, "no time", "write at = 2026-05-14T10:32:05 in each")
    timed = ((draft.at, draft) for draft in day.drafts if draft.at is not None)
    drafts = sorted(timed, key=lambda pair: _line(pair[0]))
    zones = {at.utcoffset() for at, _ in drafts}
    if None in zones and len(zones) > 1:
        bare = "write all with one or all without"
        _refuse(day.drafts, lambda draft: draft.at is not None and draft.at.utcoffset() is None, "no zone", bare)
    for (at, one), (after, other) in pairwise(drafts):
        if at == after:
            message = f"drafts {one.number} ({one.title}) and {other.number} ({other.title}) are both at"
            raise MomentError(f"{message} {at.isoformat()}; give each its own time, for they cannot both be the last")
    offset = zones.pop() if len(zones) == 1 else datetime.timedelta(0)
    first, last = (_moment(_line(at), offset).date() for at in (drafts[0][0], drafts[-1][0]))
    clock = RecordClock(counted=False, offset=offset, zones=bool(zones), dates=(first, last))
    moments = tuple(
        Moment(_line(at), _until(day, [one for _, one in drafts[: count + 1]]), draft.state, draft.title)
        for count, (at, draft) in enumerate(drafts)
        if not draft.raised
    )
    if not moments:
        raise MomentError("has drafts of a raised rig only, so there are no loads on level ground to show")
    return Timeline(clock, moments, moments[-1].at)


def timeline_of_log(day: WeighDay, state: State, log: SweepLog) -> Timeline:
    """The moments at which what the pads showed in ``log`` changed, each with that sample as the day's only draft.

    Of samples at one time the last counts.
    """
    began = log.began
    clock = RecordClock(counted=True) if began is None else _clock_of_log(log, began)
    bare = replace(day, drafts=(), corrections=(), photographs=())
    moments: list[Moment] = []
    before: list[float] | None = None
    rows = zip((round(time * SECOND) for time in log.times.tolist()), log.loads.tolist(), strict=True)
    for at, loads in rows:
        if loads == before:
            continue
        if moments and moments[-1].at == at:
            moments.pop()
        pairs = zip(log.places, log.instruments, loads, strict=True)
        readings = tuple(WrittenReading(place, instrument, load) for place, instrument, load in pairs)
        moments.append(Moment(at, replace(bare, drafts=(Draft(1, state.id, readings),)), state.id))
        before = loads
    return Timeline(clock, tuple(moments), round(float(log.times[-1]) * SECOND))


def _clock_of_log(log: SweepLog, began: datetime.datetime) -> RecordClock:
    offset = began.utcoffset()
    first, last = (_moment(round(float(log.times[at]) * SECOND), offset).date() for at in (0, -1))
    return RecordClock(counted=False, offset=offset, dates=(first, last))


def _until(day: WeighDay, drafts: Sequence[Draft]) -> WeighDay:
    """The day with these drafts only, in the order of the file, and with their corrections."""
    numbers = {draft.number for draft in drafts}
    return replace(
        day,
        drafts=tuple(draft for draft in day.drafts if draft.number in numbers),
        corrections=tuple(item for item in day.corrections if item.draft in numbers),
        photographs=tuple(item for item in day.photographs if item.draft in numbers),
    )


def _refuse(drafts: Iterable[Draft], wrong: Callable[[Draft], bool], what: str, right: str) -> None:
    """See that no draft is ``wrong``; else name the first of them."""
    found = [f"{draft.number} ({draft.title})" for draft in drafts if wrong(draft)]
    if not found:
        return
    named = ", ".join(found[:_NAMED]) + (f" and {len(found) - _NAMED} more" if len(found) > _NAMED else "")
    has = f"draft {named} has" if len(found) == 1 else f"drafts {named} have"
    raise MomentError(f"{has} {what}, so nobody can tell when it was known; {right}")


def _line(at: datetime.datetime) -> int:
    """Microseconds on one line of times; a time without a zone is taken as it is written."""
    return (at.replace(tzinfo=None) - _EPOCH) // _TICK - _ticks(at.utcoffset())


def _ticks(offset: datetime.timedelta | None) -> int:
    return 0 if offset is None else offset // _TICK


def _moment(at: int, offset: datetime.timedelta | None) -> datetime.datetime:
    """The time as it is written at an offset from UTC."""
    try:
        return _EPOCH + (at + _ticks(offset)) * _TICK
    except OverflowError:
        raise MomentError("has times beyond the calendar's ends") from None
