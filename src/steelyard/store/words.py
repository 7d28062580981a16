"""Texts that both databases keep as they are: names, which a person can read, and moments in ISO 8601, which sort."""

from __future__ import annotations

import datetime

from steelyard.store.fault import Reason, StoreError

LONGEST_NAME = 200
"""In letters: what an index of either database takes with room to spare."""

MOST = 2**31 - 1
"""Largest value of an integer column of PostgreSQL; SQLite's is larger."""


def sayable(text: str) -> bool:
    """Whether a text may be a name: printed letters, a few of them. Half characters and the zero letter are none."""
    return 0 < len(text) <= LONGEST_NAME and text.isprintable()


def refuse_unsayable(text: str, what: str) -> None:
    """Refuse a name that is none; ``what`` names it with its article: ``a key``.

    Raises
    ------
    StoreError: it is empty, too long, or cannot be printed.
    """
    if not sayable(text) or not text.strip():
        raise StoreError(Reason.REFUSED, f"{what} has 1 to {LONGEST_NAME} letters that can be printed")


def one_line(text: str) -> str:
    """A text cut and cleaned to be one line of a list."""
    return "".join(letter if letter.isprintable() else " " for letter in text[:LONGEST_NAME])


def now() -> str:
    """This moment in UTC, to the millisecond."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")


def written(at: datetime.datetime | None) -> str | None:
    """A moment as text, with the offset that it came with, if any."""
    return None if at is None else at.isoformat()


def moment(text: str) -> datetime.datetime:
    """The moment that a text of this file's own making says."""
    return datetime.datetime.fromisoformat(text)
