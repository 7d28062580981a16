"""Seals that somebody has changed: every way we could think of, drawn by a seed."""

from __future__ import annotations

import hashlib
import random
import zlib
from collections.abc import Callable, Iterator
from typing import Any

import cbor2

from tests.seals.a_seal import MORTEN, Weigher

ORDER = 2**252 + 27742317777372353535851937790883648493
"""Of the group of Ed25519 (RFC 8032, 5.1)."""

LOW = (b"\x01" + b"\x00" * 31, b"\xec" + b"\xff" * 30 + b"\x7f", b"\x00" * 32, b"\x00" * 31 + b"\x80")


def parts(seal: bytes) -> tuple[bytes, bytes, bytes]:
    """Header, record and signature of a sound seal."""
    protected, _, payload, signature = cbor2.loads(seal).value
    return protected, payload, signature


def put_together(protected: bytes, payload: bytes, signature: bytes, more: Any = None) -> bytes:
    return cbor2.dumps(cbor2.CBORTag(18, [protected, more or {}, payload, signature]), canonical=True)


def bytes_changed(seal: bytes, chance: random.Random) -> bytes:
    """One to three changes of single bytes or stretches of them."""
    data = bytearray(seal)
    for _ in range(chance.choice([1, 1, 1, 2, 3])):
        _STRETCHES[chance.randrange(len(_STRETCHES))](data, chance)
    return bytes(data)


def _flip_bit(data: bytearray, chance: random.Random) -> None:
    data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)


def _other_byte(data: bytearray, chance: random.Random) -> None:
    data[chance.randrange(len(data))] = chance.randrange(256)


def _insert(data: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(data) + 1)
    data[at:at] = chance.randbytes(chance.randint(1, 4))


def _delete(data: bytearray, chance: random.Random) -> None:
    at = chance.randrange(max(1, len(data) - 8))
    del data[at : at + chance.randint(1, 4)]


def _double(data: bytearray, chance: random.Random) -> None:
    at, length = chance.randrange(len(data)), chance.randint(1, 40)
    data[at:at] = data[at : at + length]


def _swap(data: bytearray, chance: random.Random) -> None:
    one, other = chance.randrange(len(data)), chance.randrange(len(data))
    data[one], data[other] = data[other], data[one]


def _cut(data: bytearray, chance: random.Random) -> None:
    del data[chance.randrange(8, max(9, len(data))) :]


def _more(data: bytearray, chance: random.Random) -> None:
    data += chance.randbytes(chance.randint(1, 64))


_STRETCHES: tuple[Callable[[bytearray, random.Random], None], ...] = (
    *(_flip_bit, _other_byte, _insert, _delete, _double, _swap, _cut, _more),
)


def value_changed(seal: bytes, chance: random.Random) -> bytes:
    """A record with another value in it, well formed, under the old signature or under that of another key."""
    protected, payload, signature = parts(seal)
    record = cbor2.loads(payload)
    _VALUES[chance.randrange(len(_VALUES))](record, chance)
    return _signed(record, protected, signature, chance)


def _signed(record: dict[int, Any], protected: bytes, signature: bytes, chance: random.Random) -> bytes:
    other = Weigher(MORTEN)
    how = chance.randrange(5)
    payload = cbor2.dumps(record, canonical=True)
    if how == 1:  # signed by another key that pretends to be the first
        signature = other.sign(to_be_signed(protected, payload))
    if how == 2:  # the other key's id, and the first key in the record
        protected = header_of(other.public)
        signature = other.sign(to_be_signed(protected, payload))
    if how == 3:  # the other key in the record, and the id of the first
        payload = cbor2.dumps({**record, 0: other.public}, canonical=True)
        signature = other.sign(to_be_signed(protected, payload))
    if how == 4:  # all in order, and the other key's own seal
        payload, protected = cbor2.dumps({**record, 0: other.public}, canonical=True), header_of(other.public)
        signature = other.sign(to_be_signed(protected, payload))
    return put_together(protected, payload, signature)


def header_of(public: bytes) -> bytes:
    return cbor2.dumps({1: -19, 4: hashlib.sha256(public).digest()[:8]}, canonical=True)


def to_be_signed(protected: bytes, payload: bytes) -> bytes:
    return cbor2.dumps(["Signature1", protected, b"", payload])


def _figure(record: dict[int, Any], chance: random.Random) -> None:
    places = [places for owners in record[14].values() for places in owners.values()]
    figures = chance.choice(places)
    place = chance.choice(list(figures))
    figures[place] = [figures[place][0] + chance.choice([-1, 1, 10, -1000, 10**6]), *figures[place][1:]]


def _no_figure(record: dict[int, Any], chance: random.Random) -> None:
    owners = chance.choice(list(record[14].values()))
    del owners[chance.choice(list(owners))]


def _digest(record: dict[int, Any], chance: random.Random) -> None:
    record[chance.choice([9, 10, 11])] = chance.randbytes(32)


def _time(record: dict[int, Any], chance: random.Random) -> None:
    record[4] = max(0, record[4] + chance.choice([-86_400, 86_400, 1]))


def _title(record: dict[int, Any], chance: random.Random) -> None:
    record[5] = f"{record[5][:40]}{chance.randrange(1000)}"


def _number(record: dict[int, Any], chance: random.Random) -> None:
    record[2], record[3] = record[2] + 1, chance.randbytes(32)


def _verdicts(record: dict[int, Any], chance: random.Random) -> None:
    counts = record[16]
    counts[0], counts[2] = counts[0] + 1 + chance.randrange(3), 0
    record[17] = []


_VALUES: tuple[Callable[[dict[int, Any], random.Random], None], ...] = (
    *(_figure, _no_figure, _digest, _time, _title, _number, _verdicts),
)


def signature_changed(seal: bytes, chance: random.Random) -> bytes:
    """The same signature in another encoding, points of low order, zeros, a signature of other bytes."""
    protected, payload, signature = parts(seal)
    point, scalar = signature[:32], int.from_bytes(signature[32:], "little")
    way = chance.randrange(6)
    if way == 0:  # the same number modulo the order of the group
        scalar += ORDER * chance.randint(1, 15)
        signature = point + (scalar % 2**256).to_bytes(32, "little")
    if way == 1:
        signature = chance.choice(LOW) + chance.choice([signature[32:], bytes(32)])
    if way == 2:
        signature = bytes(64)
    if way == 3:  # the key itself of low order
        record = {**cbor2.loads(payload), 0: chance.choice(LOW)}
        payload = cbor2.dumps(record, canonical=True)
        protected = header_of(record[0])
        signature = record[0] + bytes(32)
    if way == 4:
        signature = Weigher(MORTEN).sign(chance.randbytes(40))
    if way == 5:
        signature = point + (ORDER - scalar).to_bytes(32, "little")
    return put_together(protected, payload, signature)


def form_changed(seal: bytes, chance: random.Random) -> bytes:
    """The same content in another encoding, or a shape that means harm."""
    protected, payload, signature = parts(seal)
    record: dict[int, Any] = cbor2.loads(payload)
    way = chance.randrange(8)
    if way == 0:
        order = list(record)
        chance.shuffle(order)
        payload = cbor2.dumps({key: record[key] for key in order})
        return seal[:-1] if order == sorted(order) else put_together(protected, payload, signature)
    if way == 1:  # a number that is longer than it need be
        place = payload.index(b"\x01\x01")
        payload = payload[: place + 1] + b"\x18\x01" + payload[place + 2 :]
        return put_together(protected, payload, signature)
    if way == 2:  # lists and maps without an end of their own
        return b"\xd2\x9f" + seal[2:] + b"\xff"
    if way == 3:
        return b"\xd2" + b"\x81" * chance.randint(10, 15_000) + b"\x00"
    if way == 4:
        kind = chance.choice([0x5B, 0x7B, 0x9B, 0xBB])
        return b"\xd2\x84" + bytes([kind]) + chance.randbytes(8) + seal[2:]
    if way == 5:
        return put_together(protected, payload, signature, {1: -19})
    if way == 6:
        return chance.choice([b"\xd8\x12", b"\xd9\x00\x12", b"", b"\xd2\xd2", b"\xc2"]) + seal[1:]
    return put_together(cbor2.dumps({1: -8, 4: protected[-8:]}, canonical=True), payload, signature)


KINDS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    *(bytes_changed, bytes_changed, value_changed, signature_changed, form_changed),
)


def mutated(seal: bytes, count: int, seed: int) -> Iterator[bytes]:
    """So many changed seals, none of which is the seal."""
    chance = random.Random(seed)
    made = 0
    while made < count:
        found = KINDS[made % len(KINDS)](seal, chance)
        if found != seal:
            made += 1
            yield found


def bombs() -> Iterator[tuple[str, bytes]]:
    """Compressed bytes that are small, and large unpacked; trailing and missing ones."""
    yield "zeros", zlib.compress(bytes(5_000_000), 9)
    yield "twice", zlib.compress(zlib.compress(bytes(5_000_000), 9), 9)
    yield "none", zlib.compress(b"")
    yield "cut", zlib.compress(b"\xd2" * 500)[:-3]
    yield "more", zlib.compress(b"\xd2" * 20) + b"more"
