"""Data for the page on the record of a day."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True, slots=True)
class RecordLine:
    """One thing that was kept: ``mark`` is how it was found where that is not as it was kept, else empty; ``seals``
    name the seals that cover everything up to it.
    """

    link: str
    name: str
    made: Markup
    words: str
    digest: str
    mark: str
    seals: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RecordPage:
    """The record of a day, newest first. ``earlier`` leads to the lines before, None at the beginning."""

    id: str
    title: str
    kept: bool
    said: str
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    lines: tuple[RecordLine, ...]
    head: str
    head_link: int
    earlier: str | None
