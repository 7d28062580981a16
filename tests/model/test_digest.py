"""The chain of a day's readings: each digest by hand, and what of a record it holds fast."""

from __future__ import annotations

import datetime
import hashlib
from dataclasses import replace

import pytest

from steelyard.model import (
    FIRST_DIGEST,
    Correction,
    Draft,
    Place,
    WeighDay,
    WheelRef,
    WrittenReading,
    content_digest,
    digest_of,
    linked,
    running_digests,
)

EAST = datetime.timezone(datetime.timedelta(hours=2))
PLACE = Place("tow/1L", (WheelRef("tow", 1, "L"),))


def draft(number: int, mass: float) -> Draft:
    return Draft(number, "solo", (WrittenReading(PLACE, "p1", mass),))


DAY = WeighDay(
    drafts=(replace(draft(1, 1342.6334152), at=datetime.datetime(2026, 5, 14, 11, 12, tzinfo=EAST)), draft(2, 0.0)),
    corrections=(Correction(1, "tow/1L", None, "Möwe on the pad"),),
)

LINKS = (
    '{"draft":{"at":"2026-05-14T09:12:00+00:00","number":1,"readings":[FIRST],"state":"solo"}}'.replace(
        "FIRST", '{"instrument":"p1","mass":1342.633415,"place":"tow/1L"}'
    ),
    '{"draft":{"at":null,"number":2,"readings":[{"instrument":"p1","mass":0,"place":"tow/1L"}],"state":"solo"}}',
    '{"correction":{"at":null,"draft":1,"mass":null,"place":"tow/1L","reason":"Möwe on the pad"}}',
)
"""The canonical JSON of each link, typed out after RFC 8785."""


def test_every_digest_can_be_made_by_hand() -> None:
    digest = hashlib.sha256().digest()
    typed = [digest.hex()]
    for link in LINKS:
        digest = hashlib.sha256(digest + link.encode()).digest()
        typed.append(digest.hex())
    assert running_digests(DAY) == tuple(typed)
    # the digest of nothing: NIST's first example of SHA-256 (from memory)
    assert typed[0] == FIRST_DIGEST == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_a_day_that_grew_keeps_the_chain_that_it_had() -> None:
    grown = replace(DAY, drafts=(*DAY.drafts, draft(3, 100.0)), corrections=(*DAY.corrections, *DAY.corrections))
    assert len(running_digests(grown)) == 6
    then = replace(grown, drafts=grown.drafts[:2], corrections=grown.corrections[:1])
    assert running_digests(then) == running_digests(DAY)
    assert running_digests(grown)[:3] == running_digests(DAY)[:3]


@pytest.mark.parametrize(
    "other",
    [
        replace(DAY, drafts=(DAY.drafts[0], draft(2, 1e-6))),
        replace(DAY, drafts=DAY.drafts[:1]),
        replace(DAY, drafts=DAY.drafts[::-1]),
        replace(DAY, corrections=()),
        replace(DAY, corrections=(replace(DAY.corrections[0], value=0.0),)),
        replace(DAY, corrections=(replace(DAY.corrections[0], reason="Mowe on the pad"),)),
    ],
    ids=["a milligram", "a draft less", "another order", "no correction", "a value", "a letter"],
)
def test_another_record_ends_in_another_digest(other: WeighDay) -> None:
    assert running_digests(other)[-1] != running_digests(DAY)[-1]
    assert digest_of(other) != digest_of(DAY)


def test_a_day_of_nothing_has_the_digest_of_nothing() -> None:
    assert running_digests(WeighDay()) == (FIRST_DIGEST,)


def test_a_link_is_over_the_digest_before_and_the_content() -> None:
    assert linked(FIRST_DIGEST, {"b": 1, "a": None}) == linked(FIRST_DIGEST, {"a": None, "b": 1})
    assert linked(FIRST_DIGEST, {"a": 1}) != linked(content_digest({}), {"a": 1})
    assert content_digest({"a": 1.0}) == hashlib.sha256(b'{"a":1}').hexdigest()
