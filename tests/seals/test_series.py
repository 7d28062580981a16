"""Seals of a weigher whose key was replaced: their numbers go on, and a seal cannot be hidden behind the new key."""

from __future__ import annotations

from dataclasses import replace

from steelyard.seals.authenticate.answer import SealJudgement
from steelyard.seals.authenticate.pieces import Carrier, FoundSeal, Origin
from steelyard.seals.cose import signed
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.handover import handed_over
from steelyard.seals.keybook import KeyBook, PublishedKey
from steelyard.seals.keys import fresh
from steelyard.seals.known import KnownKeys
from steelyard.seals.record import to_bytes
from steelyard.seals.sealing import Seal
from tests.cli.days import NURSERY
from tests.seals.a_seal import OLIVE, SEALED_AT, judged, sealed_day

OTHER = NURSERY.replace("720", "730")


def files(*seals: Seal) -> list[FoundSeal]:
    return [FoundSeal(Origin(f"{number}.seal"), Carrier.FILE, seal.data) for number, seal in enumerate(seals)]


def two_keys() -> tuple[KeyBook, list[Seal]]:
    """Four seals of a weigher, the first two by one key and the others by the key that took its place."""
    old, new = fresh(), fresh()
    book = KeyBook(
        "Ruth",
        (
            PublishedKey(old.public, SEALED_AT - 60, retired=SEALED_AT),
            PublishedKey(new.public, SEALED_AT, follows=(fingerprint_of(old.public), handed_over(old, new, SEALED_AT))),
        ),
    )
    whole = sealed_day(NURSERY).record
    seals: list[Seal] = []
    for number in range(1, 5):
        key = old if number < 3 else new
        record = replace(
            whole.at(number, seals[-1].digest if seals else None, SEALED_AT + 20 * (number - 3)), public=key.public
        )
        seals.append(Seal(record, signed(to_bytes(record), key.public, key.sign)))
    return book, seals


def test_a_seal_that_is_hidden_behind_a_new_key_is_missed() -> None:
    book, (one, two, three, four) = two_keys()
    told = KnownKeys([("keys.json", book)]).standing
    assert judged(*files(one, two, three, four), standing=told).series == ()
    for shown, missing in (((one, three), 2), ((two, four), 3)):
        answer = judged(*files(*shown), standing=told)
        assert answer.series == (f"seal {missing} of this weigher is not among those given; ask the weigher for it",)
        assert answer.judgement is SealJudgement.GENUINE
    assert judged(*files(one, four)).series == (), "nobody told that the two keys are of one weigher"


def test_whoever_has_an_old_key_makes_no_seal_of_the_new_one_wrong() -> None:
    book, (_, two, three, _) = two_keys()
    forged = sealed_day(OTHER, OLIVE, 3, two.digest, SEALED_AT + 3)
    smuggled = replace(book, keys=(*book.keys, PublishedKey(forged.record.public, SEALED_AT - 60)))
    answer = judged(*files(three, forged), standing=KnownKeys([("keys.json", smuggled)]).standing)
    assert (answer.judgement, answer.series) == (SealJudgement.GENUINE, ())
