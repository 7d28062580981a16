"""Names of files that a browser keeps: by the day and its title, so that a person finds them again."""

from __future__ import annotations

import unicodedata
from urllib.parse import quote

from steelyard.model import WeighDay

_LONGEST = 60
"""Letters of a title in a name."""

_BYTES = 110
"""Bytes of them: a file system takes 255 for the whole name, and one letter may take four."""

_UNNAMED = "weigh-day"


def file_name(day: WeighDay, ending: str, *, what: str = "") -> str:
    """``2026-04-09 quay-bakery-before-the-market-season.pdf``; ``what`` tells several files of one day apart.

    A title keeps the letters of its own script. What no file system takes gives way to a hyphen, and so do marks that
    turn the direction of writing.
    """
    taken = min((draft.at for draft in day.drafts if draft.at is not None), default=None, key=lambda at: at.isoformat())
    date = day.record.date or (None if taken is None else taken.date())
    title = _slug(day.title or "")
    parts = [_UNNAMED if date is None else date.isoformat(), title or ("" if date is None else _UNNAMED), _slug(what)]
    return f"{' '.join(part for part in parts if part)}.{ending}"


def _slug(text: str) -> str:
    """The words of a text joined by hyphens, cut between two of them where it is long."""
    kept = [letter if unicodedata.category(letter)[0] in "LMN" or _pictured(letter) else " " for letter in text.lower()]
    words = "".join(kept).split()
    while len(words) > 1 and not _fits("-".join(words)):
        words.pop()
    slug = "-".join(words)
    while not _fits(slug):
        slug = slug[:-1]
    return slug


def _fits(slug: str) -> bool:
    return len(slug) <= _LONGEST and len(slug.encode()) <= _BYTES


def _pictured(letter: str) -> bool:
    return unicodedata.category(letter) == "So"


def disposition(name: str, *, shown: bool = False) -> str:
    """The header that names a file: in ASCII for old readers, and in full beside it (RFC 6266; RFC 8187, UTF-8).

    Parameters
    ----------
    shown: whether the browser shows the file itself, and needs the name only to keep it.
    """
    plain = unicodedata.normalize("NFKD", name).encode(encoding="ascii", errors="ignore").decode()
    stem, _, ending = plain.rpartition(".")
    stem = " ".join(part.strip("-") for part in stem.split() if part.strip("-"))
    header = f'{"inline" if shown else "attachment"}; filename="{stem or _UNNAMED}.{ending}"'
    return header if name.isascii() else f"{header}; filename*=UTF-8''{quote(name, safe='')}"
