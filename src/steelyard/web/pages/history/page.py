"""The record of a day as words: whether it is as it was kept, and each thing with its digest."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup, escape

from steelyard.questions.history import History, HistoryLine, thing_of
from steelyard.report.tables.history.text import grouped, kept_words, made_parts
from steelyard.web.pages.history.contracts import RecordLine, RecordPage
from steelyard.web.pages.shell.contracts import To
from steelyard.web.pages.shell.moment import moment_of
from steelyard.web.station.sealing import SealOfDay

_MOST = 100
"""Lines on one page: a day may have thousands."""


def record_page(history: History, seals: Sequence[SealOfDay], *, to: To, before: int | None) -> RecordPage:
    """The page.

    Parameters
    ----------
    before: the place among the lines, in their order, before which those of this page stand; None for the newest.
    """
    day = history.day or ""
    end = len(history.lines) if before is None else min(before, len(history.lines))
    begin = max(end - _MOST, 0)
    return RecordPage(
        day,
        history.title or "Weigh day",
        history.kept is True,
        kept_words(history),
        history.faults,
        history.notes,
        tuple(_line(line, seals) for line in reversed(history.lines[begin:end])),
        grouped(history.head) or "none",
        history.head_link,
        f"{to('record', day=day)}?before={begin}" if begin else None,
    )


def _made(line: HistoryLine) -> Markup:
    """From where a thing came, and when, by the clock of the device."""
    return Markup(", ").join(
        Markup("{} {}").format(word, moment_of(text)) if text else escape(word) for word, text in made_parts(line)
    )


def _line(line: HistoryLine, seals: Sequence[SealOfDay]) -> RecordLine:
    mark = "" if line.state in (None, "kept") else str(line.state)
    number = "" if line.link is None else str(line.link)
    digest = grouped(line.digest) if line.digest else "no digest"
    named = tuple(
        f"Seal {one.record.number:,} of {one.person} names this digest: it covers everything up to here."
        for one in seals
        if one.record.history is not None and one.record.history.digest.hex() == line.digest
    )
    return RecordLine(number, thing_of(line), _made(line), line.words, digest, mark, named)
