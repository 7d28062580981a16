"""Ed25519, strictly: one signature has one encoding, and no key fits any signature.

RFC 8032 leaves open what becomes of points of low order and of numbers beyond the field; here they are refused, so that
every program that checks gives the same answer. The arithmetic below sees public values only.
Source: RFC 8032, sections 5.1.3, 5.1.7 and 6.
"""

from __future__ import annotations

from functools import lru_cache

KEY_LENGTH, SIGNATURE_LENGTH = 32, 64

_P = 2**255 - 19
_L = 2**252 + 27742317777372353535851937790883648493
_D = -121665 * pow(121666, -1, _P) % _P

_Point = tuple[int, int]
_NEUTRAL: _Point = (0, 1)


class PublicKeyError(ValueError):
    """Bytes that are no public key, or one that would fit any signature."""


def check_key(public: bytes) -> None:
    """See that 32 bytes are a public key that means something.

    Raises
    ------
    PublicKeyError: the length, a number beyond the field, no point of the curve, or a point of low order.
    """
    fault = _key_fault(public)
    if fault is not None:
        raise PublicKeyError(fault)


@lru_cache(maxsize=256)
def _key_fault(public: bytes) -> str | None:
    """The fault of a key, None for a sound one; remembered, for a weigher's seals all have the same one."""
    if len(public) != KEY_LENGTH:
        return f"has {len(public)} bytes; a public key has {KEY_LENGTH}"
    point = _point(public)
    if point is None:
        return "is no point of the curve in its one encoding"
    if _eightfold(point) == _NEUTRAL:
        return "is a point of low order, which fits any signature"
    return None


def verified(public: bytes, message: bytes, signature: bytes) -> bool:
    """Whether ``signature`` is that of ``message`` by the holder of ``public``.

    Raises
    ------
    PublicKeyError: the key is none; see ``check_key``.
    """
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    check_key(public)
    if len(signature) != SIGNATURE_LENGTH or int.from_bytes(signature[32:], "little") >= _L:
        return False
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except InvalidSignature:
        return False
    point = _point(signature[:32])
    return point is not None and _eightfold(point) != _NEUTRAL


def _point(data: bytes) -> _Point | None:
    """The point that 32 bytes encode; None where there is none, or where it has a shorter encoding."""
    number = int.from_bytes(data, "little")
    sign, y = number >> 255, number & ((1 << 255) - 1)
    if y >= _P:
        return None
    square = (y * y - 1) * pow(_D * y * y + 1, -1, _P) % _P
    x = pow(square, (_P + 3) // 8, _P)
    if (x * x - square) % _P:
        x = x * pow(2, (_P - 1) // 4, _P) % _P
    if (x * x - square) % _P or (x == 0 and sign):
        return None
    return (x if x & 1 == sign else _P - x), y


def _eightfold(point: _Point) -> _Point:
    for _ in range(3):
        point = _added(point, point)
    return point


def _added(one: _Point, other: _Point) -> _Point:
    """Sum of two points of the twisted Edwards curve; its formulas hold for all points."""
    (x1, y1), (x2, y2) = one, other
    product = _D * x1 * x2 * y1 * y2 % _P
    x = (x1 * y2 + x2 * y1) * pow(1 + product, -1, _P) % _P
    y = (y1 * y2 + x1 * x2) * pow(1 - product, -1, _P) % _P
    return x, y
