"""A second check of seals, for the tests alone: written from docs/reference/seal.md and the standards, with another
library for the signature and a reader of CBOR of its own. It shares nothing with the program.

Sources: RFC 8949, 4.2.1 (the one encoding: read, written again, compared), RFC 9052, RFC 8032; libsodium refuses points
of low order, numbers beyond the field and a scalar that is too large.
"""

from __future__ import annotations

import hashlib
from typing import Any

from nacl.bindings import crypto_sign_open
from nacl.exceptions import BadSignatureError

_LARGEST, _DEEPEST = 16_000, 9
_SIMPLE = {0xF4: False, 0xF5: True, 0xF6: None}


class _NoSealError(Exception):
    pass


class _Tag:
    def __init__(self, number: int, inside: Any) -> None:
        self.number, self.inside = number, inside


def accepted(data: bytes) -> bytes | None:
    """The public key of a sound seal; None for anything else."""
    try:
        return _checked(data)
    except _NoSealError:
        return None


def _checked(data: bytes) -> bytes:
    message = _exactly(data)
    _demand(isinstance(message, _Tag) and message.number == 18 and isinstance(message.inside, list))
    _demand(len(message.inside) == 4)
    protected, open_header, payload, signature = message.inside
    _demand(all(isinstance(part, bytes) for part in (protected, payload, signature)) and len(signature) == 64)
    _demand(isinstance(open_header, dict) and not open_header)
    header = _exactly(protected)
    _demand(isinstance(header, dict) and list(header) == [1, 4] and _is_number(header[1]) and header[1] == -19)
    record = _exactly(payload)
    _demand(isinstance(record, dict) and list(record) == list(range(20)) and all(map(_is_number, record)))
    _record(record)
    public = record[0]
    _demand(header[4] == hashlib.sha256(public).digest()[:8])
    signed = _written(["Signature1", protected, b"", payload])
    try:
        crypto_sign_open(signature + signed, public)
    except (BadSignatureError, ValueError):
        raise _NoSealError from None
    return public


def _record(of: dict[Any, Any]) -> None:
    for key in (0, 9, 10, 11):
        _demand(isinstance(of[key], bytes) and len(of[key]) == 32)
    _demand(_number(of[1], 1, 1) and _number(of[2], 1) and _number(of[4], 0, 2**40) and _number(of[8], 0, 9))
    first = of[3] is None
    _demand(first == (of[2] == 1) and (first or (isinstance(of[3], bytes) and len(of[3]) == 32)))
    _demand(all(_text(of[key], 60) for key in (5, 7, 12)) and (of[6] is None or _text(of[6], 60)))
    _demand(isinstance(of[13], list) and all(_row(item, 2) and all(map(_text, item)) for item in of[13]))
    _figures(of[14])
    _demand(_number(of[15], 0, 4) and _row(of[16], 4) and all(_number(count) for count in of[16]))
    _demand(isinstance(of[17], list))
    _demand(all(_row(item, 2) and _text(item[0]) and _number(item[1], 1, 2) for item in of[17]))
    _demand(of[18] is None or _number(of[18], 0, 1000))
    if of[19] is not None:
        _demand(_row(of[19], 3) and _number(of[19][0], 0, 1) and _number(of[19][1]))
        _demand(isinstance(of[19][2], bytes) and len(of[19][2]) == 32)


def _figures(states: Any) -> None:
    _demand(isinstance(states, dict))
    for state, owners in states.items():
        _demand(_text(state) and isinstance(owners, dict))
        for owner, places in owners.items():
            _demand(_text(owner) and isinstance(places, dict))
            for place, figure in places.items():
                _demand(_number(place, 1, 99) if owner == "coupling" else _place(place))
                _demand(isinstance(figure, list) and len(figure) in {2, 3})
                _demand(_number(figure[0], -(2**53)) and _number(figure[1]))
                _demand(len(figure) == 2 or (_is_number(figure[2]) and figure[2] == 1))


def _place(place: Any) -> bool:
    return _number(place, 0, 99) or (_number(place, 100, 9999) and place % 100 in {1, 2})


def _is_number(value: Any) -> bool:
    return type(value) is int


def _number(value: Any, least: int = 0, most: int = 2**53) -> bool:
    return _is_number(value) and least <= value <= most


def _text(value: Any, most: int = 400) -> bool:
    return isinstance(value, str) and len(value) <= most


def _row(value: Any, length: int) -> bool:
    return isinstance(value, list) and len(value) == length


def _demand(holds: bool) -> None:
    if not holds:
        raise _NoSealError


def _exactly(data: bytes) -> Any:
    """The value of bytes that are what it is written as, and nothing more."""
    _demand(len(data) <= _LARGEST)
    value, end = _read(data, 0, 0)
    _demand(end == len(data) and _written(value) == data)
    return value


def _read(data: bytes, at: int, depth: int) -> tuple[Any, int]:
    _demand(at < len(data) and depth < _DEEPEST)
    first = data[at]
    if first in _SIMPLE:
        return _SIMPLE[first], at + 1
    kind, short, at = first >> 5, first & 0x1F, at + 1
    _demand(kind < 7 and short < 28)
    if short >= 24:
        wide = 1 << (short - 24)
        _demand(at + wide <= len(data))
        short, at = int.from_bytes(data[at : at + wide], "big"), at + wide
    if kind in {0, 1}:
        return (short if kind == 0 else -1 - short), at
    if kind in {2, 3}:
        _demand(short <= len(data) - at)
        part = data[at : at + short]
        try:
            return (part if kind == 2 else part.decode("utf-8")), at + short
        except UnicodeDecodeError:
            raise _NoSealError from None
    if kind == 6:
        inside, at = _read(data, at, depth + 1)
        return _Tag(short, inside), at
    _demand(short <= len(data) - at)
    return _several(data, at, depth + 1, short, table=kind == 5)


def _several(data: bytes, at: int, depth: int, count: int, *, table: bool) -> tuple[Any, int]:
    found: list[Any] = []
    for _ in range(2 * count if table else count):
        item, at = _read(data, at, depth)
        found.append(item)
    if not table:
        return found, at
    keys = found[0::2]
    _demand(all(isinstance(key, str) or _is_number(key) for key in keys) and len(set(keys)) == len(keys))
    return dict(zip(keys, found[1::2], strict=True)), at


def _written(value: Any) -> bytes:
    for byte, constant in _SIMPLE.items():
        if value is constant:
            return bytes([byte])
    if isinstance(value, int):
        return _head(0, value) if value >= 0 else _head(1, -1 - value)
    if isinstance(value, bytes):
        return _head(2, len(value)) + value
    if isinstance(value, str):
        return _head(3, len(value.encode())) + value.encode()
    if isinstance(value, list):
        return _head(4, len(value)) + b"".join(map(_written, value))
    if isinstance(value, _Tag):
        return _head(6, value.number) + _written(value.inside)
    pairs = sorted((_written(key), _written(inside)) for key, inside in value.items())
    return _head(5, len(pairs)) + b"".join(key + inside for key, inside in pairs)


def _head(kind: int, number: int) -> bytes:
    if number < 24:
        return bytes([kind << 5 | number])
    wide = next(size for size in (0, 1, 2, 3) if number < 1 << (8 << size))
    return bytes([kind << 5 | (24 + wide)]) + number.to_bytes(1 << wide, "big")
