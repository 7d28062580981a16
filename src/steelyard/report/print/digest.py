"""The digest of the readings: whether two tickets rest on the same readings, for a stranger to check.

A digest is no signature: it says nothing of who took the readings.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Mapping, Sequence

from steelyard.model import Correction, Draft, WeighDay
from steelyard.report.words.draft import in_utc

_Json = None | int | float | str | Sequence["_Json"] | Mapping[str, "_Json"]
_PLACES = 6  # decimals of a kilogram: a milligram


def digest_of(day: WeighDay) -> str:
    """SHA-256, in hexadecimal, of the drafts and corrections of ``day`` as canonical JSON.

    Masses are in kilograms, rounded to six decimals, whatever the file's units; times in UTC. Nothing else enters, so
    that the same readings under another title, or in other units, have the same digest.
    Source: RFC 8785, JSON Canonicalization Scheme; FIPS 180-4.
    """
    import rfc8785

    content: dict[str, _Json] = {
        "corrections": [_correction(item) for item in day.corrections],
        "drafts": [_draft(item) for item in day.drafts],
    }
    return hashlib.sha256(rfc8785.dumps(content)).hexdigest()


def _draft(draft: Draft) -> dict[str, _Json]:
    readings: list[_Json] = [
        {"instrument": item.instrument, "mass": round(item.value, _PLACES), "place": item.place.text}
        for item in draft.readings
    ]
    return {"at": _utc(draft.at), "number": draft.number, "readings": readings, "state": draft.state}


def _correction(item: Correction) -> dict[str, _Json]:
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
