"""The fingerprint of a key: short enough to read aloud, long enough that nobody makes another key with the same one."""

from __future__ import annotations

import hashlib
import re

_BYTES = 16
_DIGITS = 2 * _BYTES
_GROUP = 8


class FingerprintError(ValueError):
    """A text that is no fingerprint; the message says what one looks like."""


def fingerprint_of(public: bytes) -> str:
    """The fingerprint of a public key: the first 16 bytes of its SHA-256 in hexadecimal, as four groups of eight."""
    return grouped(hashlib.sha256(public).digest()[:_BYTES].hex())


def grouped(digits: str) -> str:
    """32 digits as four groups of eight."""
    return " ".join(digits[at : at + _GROUP] for at in range(0, len(digits), _GROUP))


def bare(fingerprint: str) -> str:
    """A fingerprint without the blanks, as the name of a file wants it."""
    return fingerprint.replace(" ", "")


def read_fingerprint(text: str) -> str:
    """A typed fingerprint, as ``fingerprint_of`` writes it. Blanks, colons, hyphens and capitals are free.

    Raises
    ------
    FingerprintError: it is not 32 hexadecimal digits.
    """
    digits = re.sub(r"[\s:-]", "", text).lower()
    if not re.fullmatch(r"[0-9a-f]*", digits):
        raise FingerprintError("is no fingerprint: it has other signs than the digits 0 to 9 and a to f")
    if len(digits) != _DIGITS:
        raise FingerprintError(f"is no fingerprint: it has {len(digits)} digits, and a fingerprint has {_DIGITS}")
    return grouped(digits)
