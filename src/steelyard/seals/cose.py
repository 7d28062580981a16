"""A signed message: COSE_Sign1 with Ed25519, in the one form that a seal has.

Source: RFC 9052, sections 4.2 and 4.4; RFC 9864 for the algorithm's own name. The number of the algorithm is from
memory.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from steelyard.seals.cbor import CborError, decoded, encoded
from steelyard.seals.ed25519 import SIGNATURE_LENGTH

TAG = 18
_ALGORITHM, _KEY_ID = 1, 4  # header parameters
_ED25519 = -19  # RFC 9864: Ed25519 and no other curve
_SHORT = 8  # bytes of a key's digest that name it


class CoseError(ValueError):
    """Bytes that are no signed message of this form; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class Signed:
    """A signed message that is well formed; whether the signature is right has not been asked yet.

    Attributes
    ----------
    key_id: which key signed, by the first bytes of its SHA-256. payload: what was signed.
    """

    data: bytes
    protected: bytes
    key_id: bytes
    payload: bytes
    signature: bytes

    @property
    def to_be_signed(self) -> bytes:
        """The bytes under the signature."""
        return to_be_signed(self.protected, self.payload)


def key_id_of(public: bytes) -> bytes:
    """The name of a key in a message: the first eight bytes of its SHA-256."""
    return hashlib.sha256(public).digest()[:_SHORT]


def to_be_signed(protected: bytes, payload: bytes) -> bytes:
    """The bytes that are signed (``Sig_structure`` of RFC 9052, 4.4, without further data)."""
    return encoded(["Signature1", protected, b"", payload])


def signed(payload: bytes, public: bytes, sign: Callable[[bytes], bytes]) -> bytes:
    """A message with its signature. ``sign`` gives the 64 bytes of Ed25519 with the private key of ``public``."""
    import cbor2

    protected = encoded({_ALGORITHM: _ED25519, _KEY_ID: key_id_of(public)})
    signature = sign(to_be_signed(protected, payload))
    return encoded(cbor2.CBORTag(TAG, [protected, {}, payload, signature]))


def parse(data: bytes) -> Signed:
    """The parts of a message.

    Raises
    ------
    CoseError: it is malformed, or not of this form to the bit.
    """
    import cbor2

    try:
        whole = decoded(data)
    except CborError as error:
        raise CoseError(str(error)) from None
    if not isinstance(whole, cbor2.CBORTag) or whole.tag != TAG:
        raise CoseError("is no signed message: it does not begin with the tag of one")
    parts: Any = whole.value
    if not isinstance(parts, list | tuple) or len(cast("Sequence[Any]", parts)) != 4:
        raise CoseError("is no signed message: it does not have four parts")
    protected, unprotected, payload, signature = cast("Sequence[Any]", parts)
    if not all(isinstance(part, bytes) for part in (protected, payload, signature)):
        raise CoseError("is no signed message: header, payload and signature are bytes")
    if not isinstance(unprotected, Mapping) or unprotected:
        raise CoseError("has headers that the signature does not cover")
    if len(signature) != SIGNATURE_LENGTH:
        raise CoseError(f"has a signature of {len(signature)} bytes; one of Ed25519 has {SIGNATURE_LENGTH}")
    return Signed(data, protected, _key_id(protected), payload, signature)


def _key_id(protected: bytes) -> bytes:
    try:
        header = decoded(protected)
    except CborError as error:
        raise CoseError(f"has a header that {error}") from None
    if not isinstance(header, dict) or set(cast("dict[Any, Any]", header)) != {_ALGORITHM, _KEY_ID}:
        raise CoseError("has a header with other entries than algorithm and key")
    found = cast("dict[int, Any]", header)
    if any(isinstance(name, bool) for name in found):  # true is equal to 1 here, and to nothing elsewhere
        raise CoseError("has a header with other entries than algorithm and key")
    if found[_ALGORITHM] != _ED25519 or isinstance(found[_ALGORITHM], bool):
        raise CoseError(f"is signed by the algorithm {found[_ALGORITHM]!r}; a seal by {_ED25519}, Ed25519")
    key_id = found[_KEY_ID]
    if not isinstance(key_id, bytes) or len(key_id) != _SHORT:
        raise CoseError(f"names its key by something else than {_SHORT} bytes")
    return key_id
