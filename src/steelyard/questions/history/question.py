"""The question for the history of a day, and the shape in which the answer is published."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from steelyard.model import WeighDay
from steelyard.questions.entry import Entry
from steelyard.questions.history.answer import BESIDE, DAY, History, HistoryLine, additions, history_of_file
from steelyard.questions.shape import FORMAT, Also

_Digest = Annotated[str, Also(pattern="^[0-9a-f]{64}$")]
_Whole = Annotated[int, Also(minimum=0)]


@dataclass(frozen=True, slots=True)
class HistoryQuestion:
    """Asked of a day as a whole."""


@dataclass(frozen=True, slots=True)
class HistoryEntryShape:
    """One thing in the history of a day, as it lies in the store: texts of a damaged one may hold anything."""

    link: Annotated[int | None, "Its place in the chain of digests; null where it has none."]
    seq: Annotated[int | None, "Its place among the additions; null for what is none, and in a file."]
    kind: Annotated[
        str,
        "`day` as it was imported; the section of the file that an addition is for, as `drafts`; `picture` of a "
        "photograph, `photo` of a draft as older versions kept them, `log` of growing load, `seal` of the day.",
    ]
    key: str | None
    number: Annotated[int | None, "Its place among the things of its kind in the file, from 1."]
    at: Annotated[str | None, "When it was made, where that is said."]
    received: Annotated[str | None, "When it was kept, by the station's clock; null in a file."]
    device: Annotated[str | None, "Who sent it; null in a file."]
    words: Annotated[str, "Its content on one line."]
    text: Annotated[str | None, "Its block in the file; null where it has none, and in the history of a file."]
    digest: Annotated[str | None, "SHA-256 over the digest before and all that was kept here; null where it has none."]
    state: Annotated[
        Literal["kept", "changed", "moved", "deleted", "put in", "digest does not follow"] | None,
        "How it was found when it was held against its digest; null where it was not.",
    ]


@dataclass(frozen=True, slots=True)
class HeadShape:
    """The newest digest, which is over all that came before."""

    link: Annotated[_Whole, "Its place in the chain."]
    digest: Annotated[str, "SHA-256 in hexadecimal; empty where the day has no chain."]


@dataclass(frozen=True, slots=True)
class NotedShape:
    """A digest that was asked for."""

    digest: _Digest
    link: Annotated[int | None, "Its place in the chain; null where it is none of this day's."]


@dataclass(frozen=True, slots=True)
class HistoryShape:
    """All that was kept of a day in order, and whether it is as it was kept."""

    format: Literal[1]
    file: str
    day: Annotated[str | None, "Its name in the store; null for a file."]
    title: str
    start: Annotated[HistoryEntryShape | None, "The day as it was imported; null where only additions were asked for."]
    entries: Annotated[
        tuple[HistoryEntryShape, ...],
        "Of a day in a store the additions in order, those last that have no digest. Of a file its drafts, then its "
        "corrections.",
    ]
    beside: Annotated[tuple[HistoryEntryShape, ...], "Pictures and logs."]
    head: HeadShape
    kept: Annotated[bool | None, "Whether all is as it was kept; null where nothing was held against its digest."]
    faults: Annotated[tuple[str, ...], "What is not as it was kept, a sentence each."]
    notes: Annotated[tuple[str, ...], "What is to be known of the digests besides."]
    noted: Annotated[NotedShape | None, "The digest that was asked for; null where none was."]


def _answer(day: WeighDay, question: HistoryQuestion) -> History:
    del question
    return history_of_file(day)


def history_shape(history: History, file: str) -> HistoryShape:
    """The published history."""
    starts = [line for line in history.lines if line.kind == DAY]
    return HistoryShape(
        format=FORMAT,
        file=file,
        day=history.day,
        title=history.title,
        start=entry_shape(starts[0]) if starts else None,
        entries=tuple(entry_shape(line) for line in additions(history.lines)),
        beside=tuple(entry_shape(line) for line in history.lines if line.kind in BESIDE),
        head=HeadShape(history.head_link, history.head),
        kept=history.kept,
        faults=history.faults,
        notes=history.notes,
        noted=None if history.noted is None else NotedShape(history.noted, history.noted_link),
    )


def entry_shape(line: HistoryLine) -> HistoryEntryShape:
    """One published line of a history."""
    return HistoryEntryShape(
        link=line.link,
        seq=line.seq,
        kind=line.kind,
        key=line.key,
        number=line.number,
        at=line.at,
        received=line.received,
        device=line.device,
        words=line.words,
        text=line.text,
        digest=line.digest,
        state=line.state,  # pyright: ignore[reportArgumentType] - one of the words of ``ItemState``
    )


HISTORY = Entry(HistoryQuestion, _answer, HistoryShape, history_shape, of_day=True)
