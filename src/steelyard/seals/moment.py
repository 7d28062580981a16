"""The moment at which something is sealed, by the weigher's clock, and moments as text."""

from __future__ import annotations

import datetime
import os
import re
import time

_TOLD = "SOURCE_DATE_EPOCH"
LAST_MOMENT = 253_402_300_799
"""The last second of the calendar, at the end of 9999-12-31 [s since 1970]."""

_WRITTEN = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


class SealTimeError(ValueError):
    """A moment that cannot be read; the message says what is wrong."""


def moment() -> int:
    """The moment now [s since 1970]: that of the environment's ``SOURCE_DATE_EPOCH`` where it is set, else the clock's.

    Raises
    ------
    SealTimeError: ``SOURCE_DATE_EPOCH`` is not a whole number of seconds in the calendar, or the clock is outside it.
    """
    told = os.environ.get(_TOLD, "")
    if not told:
        now = int(time.time())
        if not 0 <= now <= LAST_MOMENT:
            raise SealTimeError("The clock of this computer is before 1970 or after 9999; set it first")
        return now
    if not re.fullmatch(r"\d{1,12}", told, re.ASCII) or int(told) > LAST_MOMENT:
        raise SealTimeError(f"{_TOLD}: '{told[:40]}' is not a number of seconds since 1970, such as 1796040000")
    return int(told)


def moment_text(at: int) -> str:
    """A moment [s since 1970] as a file has it: ``2026-11-30T12:00:00Z``."""
    return f"{datetime.datetime.fromtimestamp(at, datetime.UTC):%Y-%m-%dT%H:%M:%S}Z"


def moment_words(at: int) -> str:
    """A moment [s since 1970] for people: ``2026-11-30 12:00 UTC``. One beyond the calendar is told in seconds."""
    if at > LAST_MOMENT:
        return f"{at} s after 1970"
    return f"{datetime.datetime.fromtimestamp(at, datetime.UTC):%Y-%m-%d %H:%M} UTC"


def read_moment(text: str) -> int:
    """The moment [s since 1970] of a text that ``moment_text`` writes.

    Raises
    ------
    SealTimeError: it is written otherwise, is before 1970, or no day of the calendar.
    """
    if not _WRITTEN.fullmatch(text):
        raise SealTimeError("is not a time in UTC such as 2026-11-30T12:00:00Z")
    try:
        at = int(datetime.datetime.fromisoformat(text).timestamp())
    except (ValueError, OverflowError):
        raise SealTimeError("is no day of the calendar, or no time of the day") from None
    if at < 0:
        raise SealTimeError("is before 1970")
    return at
