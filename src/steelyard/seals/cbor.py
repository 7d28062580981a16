"""CBOR in its one deterministic form: whatever has two encodings is refused.

Source: RFC 8949, section 4.2.1, core deterministic encoding.
"""

from __future__ import annotations

from typing import Any

LARGEST = 16_000
"""Bytes of an encoded item at most."""

_DEEPEST = 8
_TAGS = frozenset({18})  # COSE_Sign1, RFC 9052
_LENGTHS = {24: 1, 25: 2, 26: 4, 27: 8}
_UNSIGNED, _NEGATIVE, _BYTES, _TEXT, _ARRAY, _MAP, _TAG, _SIMPLE = range(8)
_CONSTANTS = frozenset({20, 21, 22})  # false, true, null


class CborError(ValueError):
    """Bytes that are no deterministic CBOR, or hold what a seal cannot; the message says which and where."""


def encoded(value: Any) -> bytes:
    """The bytes of a value, always the same."""
    import cbor2

    return cbor2.dumps(value, canonical=True)


def decoded(data: bytes) -> Any:
    """The value of some bytes; arrays are lists, maps dictionaries.

    The form is checked before anything is built, so that no length that is only claimed takes memory.

    Raises
    ------
    CborError: too long, too deep, cut short, followed by more bytes, not in the deterministic form, or with a float,
    an open length or a tag of another kind.
    """
    import cbor2

    if len(data) > LARGEST:
        raise CborError(f"has {len(data)} bytes; at most {LARGEST} are read")
    end = _item(data, 0, 0)
    if end != len(data):
        raise CborError(f"goes on after its end: {len(data) - end} bytes from byte {end} on")
    try:
        return cbor2.loads(data)
    except (cbor2.CBORError, ValueError, RecursionError) as error:  # as a text that is no UTF-8
        raise CborError(f"cannot be read: {error}") from None


def _item(data: bytes, at: int, depth: int) -> int:
    """Where the item at ``at`` ends."""
    if depth > _DEEPEST:
        raise CborError(f"is nested more than {_DEEPEST} deep at byte {at}")
    kind, count, end = _head(data, at)
    if kind in {_BYTES, _TEXT}:
        if count > len(data) - end:
            raise CborError(f"is cut short at byte {at}: {count} bytes are announced, {len(data) - end} are there")
        return end + count
    if kind == _TAG and count not in _TAGS:
        raise CborError(f"has the tag {count} at byte {at}")
    items = {_ARRAY: count, _MAP: 2 * count, _TAG: 1}.get(kind, 0)
    if items > len(data) - end:  # an item has a byte at least
        raise CborError(f"is cut short at byte {at}: {items} items are announced")
    before: bytes | None = None
    for number in range(items):
        begin, end = end, _item(data, end, depth + 1)
        if kind == _MAP and number % 2 == 0:
            key = data[begin:end]
            if before is not None and before >= key:
                raise CborError(f"has its keys doubled or out of order at byte {begin}")
            before = key
    return end


def _head(data: bytes, at: int) -> tuple[int, int, int]:
    """Major type, argument, and where the head at ``at`` ends."""
    if at >= len(data):
        raise CborError(f"is cut short at byte {at}")
    kind, short = data[at] >> 5, data[at] & 31
    if kind == _SIMPLE:
        if short not in _CONSTANTS:
            raise CborError(f"has a value at byte {at} that no seal has")
        return kind, short, at + 1
    if short < 24:
        return kind, short, at + 1
    length = _LENGTHS.get(short)
    if length is None:
        raise CborError(f"has an open or reserved length at byte {at}")
    end = at + 1 + length
    if end > len(data):
        raise CborError(f"is cut short at byte {at}")
    count = int.from_bytes(data[at + 1 : end])
    if count < (24 if length == 1 else 1 << 4 * length):
        raise CborError(f"has a number at byte {at} that is longer than it need be")
    return kind, count, end
