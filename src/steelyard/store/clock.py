"""Moments as the store writes them: ISO 8601 text, which sorts and which both databases keep as it is."""

from __future__ import annotations

import datetime


def now() -> str:
    """This moment in UTC, to the millisecond."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")


def written(at: datetime.datetime | None) -> str | None:
    """A moment as text, with the offset that it came with, if any."""
    return None if at is None else at.isoformat()


def moment(text: str) -> datetime.datetime:
    """The moment that a text of this file's own making says."""
    return datetime.datetime.fromisoformat(text)
