"""No changed seal is accepted, by the program or by the second check, which agree on every one."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from steelyard.seals.authenticate.answer import SealJudgement
from steelyard.seals.authenticate.check import BrokenSealError, checked
from steelyard.seals.authenticate.pieces import Carrier, FoundSeal, Origin, UnreadableError
from steelyard.seals.authenticate.reading import read_bytes, read_text
from steelyard.seals.base45 import base45
from tests.cli.days import NURSERY
from tests.seals.a_seal import MORTEN, OLIVE, Weigher, judged, sealed_day
from tests.seals.mutations import bombs, mutated
from tests.seals.second_check import accepted

if TYPE_CHECKING:
    from steelyard.seals.sealing import Seal

COUNT = 100_000 if os.environ.get("STEELYARD_STUDY") == "1" else 2_000
"""Of changed seals. One that is accepted in a thousand would be seen by two thousand with a probability of 86 %."""


@pytest.fixture(scope="module")
def seal() -> Seal:
    return sealed_day(NURSERY)


def key_of(data: bytes) -> bytes | None:
    """The key of a seal that the program takes for whole."""
    try:
        return checked(data).public
    except BrokenSealError:
        return None


def test_a_sound_seal_is_accepted_by_both_checks(seal: Seal) -> None:
    assert key_of(seal.data) == accepted(seal.data) == Weigher(OLIVE).public


def test_no_changed_seal_is_accepted_and_both_checks_agree(seal: Seal) -> None:
    """A seal signed anew by another key is whole, and is that other key's: it is not the first one's."""
    olive, morten = Weigher(OLIVE).public, Weigher(MORTEN).public
    others: list[bytes] = []
    for data in mutated(seal.data, COUNT, seed=13):
        found = key_of(data)
        assert found == accepted(data), data.hex()
        assert found in {None, morten}, data.hex()
        if found is not None:
            others.append(data)
    assert olive != morten
    assert COUNT / 50 < len(others) < COUNT / 20
    for data in others[:5]:
        assert judged(FoundSeal(Origin("other.seal"), Carrier.FILE, data)).judgement is SealJudgement.UNKNOWN_KEY


def test_every_flipped_bit_of_a_seal_is_found(seal: Seal) -> None:
    for bit in range(8 * len(seal.data)):
        data = bytearray(seal.data)
        data[bit // 8] ^= 1 << bit % 8
        assert key_of(bytes(data)) is None, bit


def test_every_shortened_seal_is_found(seal: Seal) -> None:
    assert all(key_of(seal.data[:end]) is None for end in range(len(seal.data)))


@pytest.mark.parametrize("bomb", [data for _, data in bombs()], ids=[name for name, _ in bombs()])
def test_a_compressed_bomb_is_refused_before_it_is_large(bomb: bytes) -> None:
    piece = read_text(f"VAN 3500 KG:{base45(bomb)}", "--text")[0]
    answer = judged(piece)
    assert answer.judgement in {SealJudgement.NO_SEAL, SealJudgement.BROKEN}
    assert len(answer.seals[0].reason) < 120


def test_ten_megabytes_of_text_are_refused_at_once() -> None:
    with pytest.raises(UnreadableError, match="has 10,000,000 letters; a code has 20,000 at most"):
        read_text("A" * 10_000_000, "--text")
    with pytest.raises(UnreadableError, match="10,000,000 letters"):
        read_bytes(b"A" * 10_000_000, "-")
