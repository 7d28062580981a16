"""The history of a day: of one in a store as it was kept, of one in a file as it stands there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from steelyard.dayfile import Part
from steelyard.model import FIRST_DIGEST, WeighDay, running_digests
from steelyard.questions.history.words import block_words, correction_words, draft_words

if TYPE_CHECKING:
    from steelyard.store import DayHistory, HistoryItem, StoredEntry

DAY = "day"
BESIDE = ("picture", "photo", "log", "seal")
"""Kinds of what is kept beside the text of a day."""


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One thing in the history of a day.

    Attributes
    ----------
    link: its place in the chain, from 0 for the day as it was imported; None where it has no digest.
    kind: ``day``, the section of the file that an addition is for, ``picture``, ``photo`` (an older one) or ``log``.
    seq: of an addition in a store. number: among its kind. at, received: as texts; None where nothing is said.
    words: what it is, on one line. text: its block in the file; None where it has none. state: how it was found when it
        was held against its digest; None where it was not.
    """

    link: int | None
    kind: str
    seq: int | None
    number: int | None
    key: str | None
    at: str | None
    received: str | None
    device: str | None
    words: str
    text: str | None
    digest: str | None
    state: str | None


@dataclass(frozen=True, slots=True)
class History:
    """The history of a day.

    Attributes
    ----------
    day: its name in the store; None for a file. lines: in the order of the chain; what has no digest stands last.
    head, head_link: the newest digest, and its place. kept: whether all is as it was kept; None for a file, which
        keeps no digests. faults: what is not, a sentence each. notes: what is to be known besides.
    noted, noted_link: a digest that was asked for, and its place in the chain; None where it has none there.
    """

    day: str | None
    title: str
    lines: tuple[HistoryLine, ...]
    head: str
    head_link: int
    kept: bool | None
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    noted: str | None = None
    noted_link: int | None = None


def history_of_file(day: WeighDay) -> History:
    """The drafts, then the corrections of a day in file order, each with its running digest."""
    digests = running_digests(day)
    lines = [_in_file(0, DAY, None, FIRST_DIGEST, "nothing yet")]
    for link, draft in enumerate(day.drafts, 1):
        at = None if draft.at is None else draft.at.isoformat()
        words = draft_words(day, draft)
        lines.append(_in_file(link, Part.DRAFT, draft.number, digests[link], words, key=draft.key, at=at))
    for number, correction in enumerate(day.corrections, 1):
        link = len(day.drafts) + number
        at = None if correction.at is None else correction.at.isoformat()
        words = correction_words(day, correction)
        lines.append(_in_file(link, Part.CORRECTION, number, digests[link], words, at=at))
    return History(None, day.title, tuple(lines), digests[-1], len(digests) - 1, None)


def _in_file(
    link: int, kind: str, number: int | None, digest: str, words: str, *, key: str | None = None, at: str | None = None
) -> HistoryLine:
    return HistoryLine(link, str(kind), None, number, key, at, None, None, words, None, digest, None)


def history_of_store(found: DayHistory, noted: str | None = None) -> History:
    """The history of a day in a store, held against its digests.

    Parameters
    ----------
    noted: a digest that the day had at some time, from a seal or an earlier history, to be looked for.
    """
    faults, place = found.faults, None
    if noted is not None:
        place = found.link_of(noted)
        if place is None:
            said = f"The digest {noted} is none of this day: it is of another one, or the chain was made anew."
            faults = (*faults, said)
    return History(
        found.id,
        found.title,
        tuple(_kept(item) for item in found.items),
        found.head.digest,
        found.head.link,
        not faults,
        faults,
        found.notes,
        noted,
        place,
    )


def _kept(item: HistoryItem) -> HistoryLine:
    addition = item.kind != DAY and item.kind not in BESIDE
    return HistoryLine(
        link=item.link,
        kind=item.kind,
        seq=item.seq if addition else None,
        number=item.number if addition or item.kind in ("log", "seal") else None,
        key=None if item.kind == DAY else item.key,
        at=item.at,
        received=item.received,
        device=item.device,
        words=block_words(item.kind, item.key, item.text),
        text=item.text if addition else None,
        digest=item.digest or None,
        state=str(item.state),
    )


def line_of_entry(entry: StoredEntry) -> HistoryLine:
    """An addition as the store has it, held against nothing."""
    return HistoryLine(
        link=entry.link,
        kind=str(entry.kind),
        seq=entry.seq,
        number=entry.number,
        key=entry.key,
        at=None if entry.at is None else entry.at.isoformat(),
        received=entry.received.isoformat(timespec="milliseconds"),
        device=entry.device,
        words=block_words(entry.kind, entry.key, entry.text),
        text=entry.text,
        digest=entry.digest or None,
        state=None,
    )


def thing_of(line: HistoryLine) -> str:
    """One thing by its name: ``draft 2``."""
    if line.kind == DAY:
        return "beginning"
    name = Part(line.kind).thing if line.kind in tuple(Part) else line.kind
    return name if line.number is None else f"{name} {line.number}"


def additions(lines: Sequence[HistoryLine]) -> tuple[HistoryLine, ...]:
    """Those that stand in the text of the day."""
    return tuple(line for line in lines if line.kind != DAY and line.kind not in BESIDE)
