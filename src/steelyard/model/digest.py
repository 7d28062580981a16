"""Digests of a day: of its readings as canonical JSON, and chains in which each digest is over the one before.

A digest is no signature: it says nothing of who took the readings. It shows whether two records hold the same ones, and
a chain shows that of two records of different length.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import TypeAlias

from steelyard.model.draft import Correction, Draft
from steelyard.model.weigh_day import WeighDay

Json: TypeAlias = "int | float | str | Sequence[Json] | Mapping[str, Json] | None"
"""A value that canonical JSON can say."""

FIRST_DIGEST = hashlib.sha256(b"").hexdigest()
"""The digest of nothing, which stands before the first link of a chain."""

_PLACES = 6  # decimals of a kilogram: a milligram


def digest_of(day: WeighDay) -> str:
    """SHA-256, in hexadecimal, of the drafts and corrections of ``day`` as canonical JSON.

    Masses are in kilograms, rounded to six decimals, whatever the file's units; times in UTC. Nothing else enters, so
    that the same readings under another title, or in other units, have the same digest.
    Source: RFC 8785, JSON Canonicalization Scheme; FIPS 180-4.
    """
    return content_digest(
        {
            "corrections": [_correction(item) for item in day.corrections],
            "drafts": [_draft(item) for item in day.drafts],
        }
    )


def running_digests(day: WeighDay) -> tuple[str, ...]:
    """The chain of a day's readings: ``FIRST_DIGEST``, one digest for each draft, then one for each correction.

    Both stand in the order of the file. Each digest is over the one before and the draft or correction as ``digest_of``
    has it, so that the last one is of them all. A day that only grew still has the chain that it had: that of its first
    drafts and corrections, as many as there were.
    """
    return tuple(_running(day))


def _running(day: WeighDay) -> Iterator[str]:
    digest = FIRST_DIGEST
    yield digest
    for draft in day.drafts:
        digest = linked(digest, {"draft": _draft(draft)})
        yield digest
    for correction in day.corrections:
        digest = linked(digest, {"correction": _correction(correction)})
        yield digest


def linked(before: str, content: Mapping[str, Json]) -> str:
    """The next digest of a chain: SHA-256 of the 32 bytes of the digest before, then ``content`` as canonical JSON.

    Both digests are in hexadecimal.
    """
    return hashlib.sha256(bytes.fromhex(before) + _canonical(content)).hexdigest()


def content_digest(content: Mapping[str, Json]) -> str:
    """SHA-256, in hexadecimal, of ``content`` as canonical JSON."""
    return hashlib.sha256(_canonical(content)).hexdigest()


def in_utc(at: datetime.datetime) -> datetime.datetime:
    """A moment with an offset, in UTC; one at the very ends of the calendar, which has no UTC, as it was written."""
    try:
        return at.astimezone(datetime.UTC)
    except OverflowError:
        return at


def _canonical(content: Mapping[str, Json]) -> bytes:
    import rfc8785

    return rfc8785.dumps(content)


def _draft(draft: Draft) -> dict[str, Json]:
    readings: list[Json] = [
        {"instrument": item.instrument, "mass": round(item.value, _PLACES), "place": item.place.text}
        for item in draft.readings
    ]
    return {"at": _utc(draft.at), "number": draft.number, "readings": readings, "state": draft.state}


def _correction(item: Correction) -> dict[str, Json]:
    if item.state is not None:
        said: dict[str, Json] = {"away": item.away} if item.label is None else {"label": item.label}
        return {"at": _utc(item.at), "reason": item.reason, "state": item.state, **said}
    if item.label is not None:
        return {"at": _utc(item.at), "draft": item.draft, "label": item.label, "reason": item.reason}
    return {
        "at": _utc(item.at),
        "draft": item.draft,
        "mass": None if item.value is None else round(item.value, _PLACES),
        "place": item.place,
        "reason": item.reason,
    }


def _utc(at: datetime.datetime | None) -> str | None:
    if at is None:
        return None
    return in_utc(at).isoformat() if at.tzinfo is not None else at.isoformat()
