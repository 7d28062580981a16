"""The check of one seal by itself: its form to the bit, its key, its signature."""

from __future__ import annotations

from steelyard.seals.cose import CoseError, key_id_of, parse
from steelyard.seals.ed25519 import PublicKeyError, verified
from steelyard.seals.record import RecordError, SealRecord, from_bytes


class BrokenSealError(ValueError):
    """Bytes that are no seal, or one whose signature does not fit; the message says why."""


def checked(data: bytes) -> SealRecord:
    """The record of a seal whose signature is right, whoever's key it is.

    Raises
    ------
    BrokenSealError: the bytes are malformed, name another key than the record's, or the signature does not fit.
    """
    try:
        signed = parse(data)
        record = from_bytes(signed.payload)
    except CoseError as error:
        raise BrokenSealError(f"the seal {error}") from None
    except RecordError as error:
        raise BrokenSealError(f"the record in the seal {error}") from None
    if signed.key_id != key_id_of(record.public):
        raise BrokenSealError("the seal names another key than the record in it")
    try:
        fits = verified(record.public, signed.to_be_signed, signed.signature)
    except PublicKeyError as error:
        raise BrokenSealError(f"the key in the seal {error}") from None
    if not fits:
        raise BrokenSealError("the signature does not fit: something in the seal was changed after it was made")
    return record
