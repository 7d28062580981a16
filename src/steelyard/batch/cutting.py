"""Days into parts, in places that stay where they are when days come before, after or between them.

A part ends after a day whose source says so by its checksum, so that one more day in a folder makes one part new and
not all that follow it. Parts of ``size`` days are meant, most have between half and one and a half times as many.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path

from steelyard.batch.layout import DayText
from steelyard.batch.options import BatchOptions
from steelyard.batch.part import PartJob, part_job
from steelyard.batch.sources import Bunch
from steelyard.batch.stored import StoredDays

PART_DAYS = 500
"""Days of a part where there are enough: two seconds of work or more, beside which no engine's own cost counts."""

_FEWEST = 20
"""Parts are not made smaller than this to give every job one."""

_MOST_TEXT = 32_000_000
"""Characters of a part's texts: days of thousands of drafts make parts of fewer of them, and memory stays bounded."""

_EXACT = 8
"""Parts of fewer days than this are all of one size."""


def part_days(days: int, jobs: int) -> int:
    """How many days a part should have, so that each of so many jobs has a few of them."""
    size = PART_DAYS
    while size > 2 * _FEWEST and days < 3 * jobs * size:
        size //= 2
    return size


def cut(bunches: Iterable[Bunch], size: int, folder: Path, options: BatchOptions) -> Iterator[PartJob]:
    """The jobs of all days, made as they are asked for; the days of one part at a time are held.

    Errors of the sources pass through.
    """
    for bunch in bunches:
        first = 0
        for days in _parts(bunch.days, size):
            stored = None if bunch.stored is None else StoredDays(bunch.stored, first, len(days))
            yield part_job(days, folder, options, stored=stored)
            first += len(days)


def _parts(days: Iterable[DayText], size: int) -> Iterator[list[DayText]]:
    part: list[DayText] = []
    held = 0
    for one in days:
        part.append(one)
        held += len(one.text)
        if _ends(one, len(part), size) or held >= _MOST_TEXT:
            yield part
            part, held = [], 0
    if part:
        yield part


def _ends(last: DayText, count: int, size: int) -> bool:
    """Whether a part of so many days ends with this one."""
    if size < _EXACT:
        return count >= size
    if count < size // 2:
        return False
    return count >= size + size // 2 or zlib.crc32(last.source.encode("utf-8", "replace")) % (size // 2) == 0
