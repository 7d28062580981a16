"""How to cite the folder: one sentence for a reader, and a file for programs that keep references."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator

from steelyard import __version__
from steelyard.model import digest_of
from steelyard.publish.edition import PublishedDay, Weighing
from steelyard.report.print.record import date_of
from steelyard.report.tables.brief import brief_text

UNNAMED = "Author not stated"

_LONG = 1000
"""Characters of a line of the verdict: more than any line has."""


def date_weighed(weighing: Weighing) -> datetime.date | None:
    """The date of the last day; None where no file states one."""
    return max(filter(None, (date_of(day.findings.day) for day in weighing.days)), default=None)


def sentence(weighing: Weighing) -> str:
    """The folder as an entry in a list of references."""
    who = "; ".join(weighing.authors) or UNNAMED
    date = date_weighed(weighing)
    when = "" if date is None else f" ({date.isoformat()})"
    title = weighing.title.rstrip(".")
    digests = ", ".join(short_digest(day) for day in weighing.days)
    return f"{who}{when}. {title}. Weigh days worked out with Steelyard {__version__}. Readings: {digests}."


def short_digest(day: PublishedDay) -> str:
    """The first figures of the digest of a day's readings, as the ticket prints it."""
    return f"sha256:{digest_of(day.findings.day)[:16]}"


def citation_file(weighing: Weighing) -> bytes:
    """The same in the Citation File Format, version 1.2.0 (its keys are from memory); every text is quoted.

    A JSON text is a text in YAML too, so that no title can end its line.
    """
    return ("\n".join(_lines(weighing)) + "\n").encode()


def _lines(weighing: Weighing) -> Iterator[str]:
    yield "cff-version: 1.2.0"
    yield f"message: {_quoted('If you use these figures, please cite them as below.')}"
    yield "type: dataset"
    yield f"title: {_quoted(weighing.title)}"
    yield "authors:"
    for name in weighing.authors or (UNNAMED,):
        yield f"  - name: {_quoted(name)}"
    date = date_weighed(weighing)
    if date is not None:
        yield f"date-released: {_quoted(date.isoformat())}"
    yield f"abstract: {_quoted(' '.join(_in_short(day) for day in weighing.days))}"
    yield "identifiers:"
    for day in weighing.days:
        yield "  - type: other"
        yield f"    value: {_quoted(f'sha256:{digest_of(day.findings.day)}')}"
        yield f"    description: {_quoted(f'Digest of the readings of {day.path}')}"


def _in_short(day: PublishedDay) -> str:
    """The verdict of a day as sentences; a reference has no width, so no name is cut."""
    title, *lines = brief_text(day.findings, _LONG).splitlines()
    return " ".join(f"{line.rstrip('.')}." for line in [title, *lines])


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
