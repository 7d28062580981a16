"""Sealing at the station: a day as it stands in the store, with the key of one weigher, on the owner's word.

The private key never leaves its folder; a pass phrase is used once and kept nowhere.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from steelyard.dayfile import Part
from steelyard.findings import Findings
from steelyard.seals.cose import CoseError, parse
from steelyard.seals.files import KeyFileError
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.keys import PassPhrase, PassPhraseError
from steelyard.seals.moment import moment
from steelyard.seals.record import HistoryHead, RecordError, SealRecord, from_bytes
from steelyard.seals.ring import KeyRing, keys_folder
from steelyard.seals.sealing import DayToSeal, Seal, content_of, findings_file
from steelyard.store import ChainHead, DayId, KeptSeal, Snapshot, Store, StoredEntry
from steelyard.web.settings import Settings
from steelyard.web.station.refused import Refusal, RefusalError


@dataclass(frozen=True, slots=True)
class SealOfDay:
    """A seal that a day has.

    Attributes
    ----------
    number: place among the seals of the day, from 1. person: the weigher, as the folder of keys has them.
    seq: the last addition that it seals. since: what came to the day after it, by kind.
    linked: whether the digest that it names still stands in the day's chain. received: by the station's clock.
    """

    number: int
    person: str
    record: SealRecord
    seq: int
    since: tuple[tuple[Part, int], ...]
    linked: bool
    received: str

    @property
    def fingerprint(self) -> str:
        """Fingerprint of the key that sealed."""
        return fingerprint_of(self.record.public)


@dataclass(frozen=True, slots=True)
class DayAsStored:
    """A day at one moment: its text, the head of its chain, and its findings."""

    snapshot: Snapshot
    head: ChainHead
    findings: Findings


@dataclass(frozen=True, slots=True)
class SealGiven:
    """A seal that was just asked for: its number in the day, whether it was there before, and what is to be read."""

    number: int
    again: bool
    notes: tuple[str, ...]


def weighers(settings: Settings) -> tuple[str, ...]:
    """The weighers who have a key on this machine.

    Raises
    ------
    RefusalError: the folder of keys cannot be read.
    """
    try:
        return KeyRing(keys_folder(settings.keys)).names()
    except KeyFileError as error:
        raise RefusalError(Refusal.CANNOT_SEAL, str(error)) from None


def seal_day(
    store: Store, settings: Settings, day_id: DayId, stood: DayAsStored, person: str | None, phrase: str, device: str
) -> SealGiven:
    """Seal a day as it stands and keep the seal beside it; the same day again gives the seal that it has.

    Parameters
    ----------
    person: the weigher; None means the only one. phrase: the pass phrase of their key, empty where it has none.

    Raises
    ------
    PassPhraseError: the pass phrase is wrong, or one is needed.
    RefusalError: there is no such weigher, the key is revoked or cannot be used, or the day cannot be sealed.
    """
    content = _content(stood)
    try:
        weigher = KeyRing(keys_folder(settings.keys)).weigher(person, PassPhrase(phrase.encode() or None))
        given = weigher.seal(content, moment())
    except PassPhraseError:
        raise
    except ValueError as error:  # among them whatever is wrong with a key
        raise RefusalError(Refusal.CANNOT_SEAL, str(error)) from None
    head = "" if content.history is None else content.history.digest.hex()
    kept = KeptSeal(stood.snapshot.seq, weigher.name, head, given.data, findings_file(content), device)
    number, new = store.keep_seal(day_id, kept)
    return SealGiven(number, not new, given.notes)


def _content(stood: DayAsStored) -> DayToSeal:
    head = HistoryHead("station", stood.head.link, bytes.fromhex(stood.head.digest))
    return content_of(stood.findings, stood.snapshot.text.encode(), head if head.digest else None)


def seals_of(store: Store, day_id: DayId, history: Sequence[StoredEntry]) -> tuple[SealOfDay, ...]:
    """The seals of a day in order; one whose bytes were changed by hand is left out and told by the history."""
    found: list[SealOfDay] = []
    for kept in store.seals(day_id):
        record = _record(kept.data)
        if record is not None:
            later = Counter(entry.kind for entry in history if entry.seq > kept.seq)
            head = record.history
            linked = head is not None and store.link_of(day_id, head.digest.hex()) is not None
            received = "" if kept.received is None else f"{kept.received:%Y-%m-%d %H:%M:%S} UTC"
            since = tuple((part, later[part]) for part in Part if later[part])
            found.append(SealOfDay(kept.number, kept.person, record, kept.seq, since, linked, received))
    return tuple(found)


def _record(data: bytes) -> SealRecord | None:
    try:
        return from_bytes(parse(data).payload)
    except (CoseError, RecordError):
        return None


@dataclass(frozen=True, slots=True)
class SealedDay:
    """A day as it was sealed: the seal, the text of the day, and the findings as they were published."""

    seal: Seal
    kept: KeptSeal
    text: str


def sealed_day(store: Store, day_id: DayId, number: int) -> SealedDay:
    """A day as it was when it got the seal of that number.

    Raises
    ------
    RefusalError: it has no such seal, or what the store has is not what was sealed.
    """
    kept = store.seal(day_id, number)
    if kept is None:
        raise RefusalError(Refusal.NO_SUCH_SEAL, f"the day has no seal {number}")
    record = _record(kept.data)
    text = store.snapshot_at(day_id, kept.seq).text
    if record is None or hashlib.sha256(text.encode()).digest() != record.day_file:
        raise RefusalError(
            Refusal.NOT_AS_SEALED,
            f"the day is not what seal {number} sealed: something was changed in the database by hand; "
            "the history of the day says what",
        )
    return SealedDay(Seal(record, kept.data), kept, text)
