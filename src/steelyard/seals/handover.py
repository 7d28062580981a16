"""Handing over from one key to the next: a statement that both keys sign.

The old key says which one follows it. The new key says the same, so that nobody can pass off another's new key as the
successor of one of their own. Each signature is a COSE_Sign1 as that of a seal is, but what is signed is a list, and
the record of a seal is a map: neither can be read as the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

from steelyard.seals.cbor import CborError, decoded, encoded
from steelyard.seals.cose import CoseError, key_id_of, parse, signed
from steelyard.seals.ed25519 import PublicKeyError, verified
from steelyard.seals.keys import UnlockedKey

_NAME = "steelyard key handover"
_FORMAT = 1
_MOST_SECONDS = 2**40


class HandoverError(ValueError):
    """A handover that proves nothing; the message says why."""


@dataclass(frozen=True, slots=True)
class Handover:
    """The proof that one key follows another: the statement as either key has signed it, as bytes of COSE_Sign1."""

    by_old: bytes
    by_new: bytes


def handed_over(old: UnlockedKey, new: UnlockedKey, at: int) -> Handover:
    """The statement that ``new`` follows ``old`` from a moment on [s since 1970], signed by both."""
    payload = statement(old.public, new.public, at)
    return Handover(signed(payload, old.public, old.sign), signed(payload, new.public, new.sign))


def statement(old: bytes, new: bytes, at: int) -> bytes:
    """The bytes that are signed: a list of a name, a format, the old key, the new key, and the moment."""
    return encoded([_NAME, _FORMAT, old, new, at])


def check_handover(handover: Handover, old: bytes, new: bytes) -> int:
    """The moment [s since 1970] of a handover between two public keys, which both have signed.

    Raises
    ------
    HandoverError: a signature is malformed or wrong, or the statement is of other keys.
    """
    try:
        by_old, by_new = parse(handover.by_old), parse(handover.by_new)
    except CoseError as error:
        raise HandoverError(f"a statement {error}") from None
    if by_old.payload != by_new.payload:
        raise HandoverError("the old key and the new one sign different statements")
    at = _moment(by_old.payload, old, new)
    for public, part, words in ((old, by_old, "old"), (new, by_new, "new")):
        try:
            fits = part.key_id == key_id_of(public) and verified(public, part.to_be_signed, part.signature)
        except PublicKeyError as error:
            raise HandoverError(f"the {words} key {error}") from None
        if not fits:
            raise HandoverError(f"the signature of the {words} key does not fit")
    return at


def _moment(payload: bytes, old: bytes, new: bytes) -> int:
    try:
        found: Any = decoded(payload)
    except CborError as error:
        raise HandoverError(f"a statement {error}") from None
    parts: Sequence[Any] = cast("list[Any]", found) if isinstance(found, list) else ()
    if len(parts) != 5 or parts[0] != _NAME or type(parts[1]) is not int or parts[1] != _FORMAT:
        raise HandoverError("a statement is none that one key follows another")
    if parts[2] != old or parts[3] != new:
        raise HandoverError("a statement is of other keys")
    at: Any = parts[4]
    if not isinstance(at, int) or isinstance(at, bool) or not 0 <= at < _MOST_SECONDS:
        raise HandoverError("a statement has no moment")
    return at
