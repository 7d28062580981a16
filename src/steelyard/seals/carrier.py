"""The text of a seal in a QR code: a few words for people, a colon, then the seal itself.

A telephone's own camera shows the words first. Capacity of a code: ISO/IEC 18004, table 7.
"""

from __future__ import annotations

import re
import unicodedata
import zlib

from steelyard.seals.base45 import LETTERS, Base45Error, base45, from_base45
from steelyard.seals.cbor import LARGEST
from steelyard.seals.figures import GROSS
from steelyard.seals.record import SealRecord

MOST_LETTERS = 970
"""Letters of a code of version 20 at level M: 52 mm square with half a millimetre a module, which any phone reads."""

LONGEST_TEXT = 20_000
"""Letters of a pasted text at most."""

MODULE_MM = 0.5
"""Width of a module on paper [mm]. A code is never printed smaller."""

_HEAD = 56
_SPLIT = ":"
_HEAD_LETTERS = LETTERS.replace(_SPLIT, "")


class CarrierError(ValueError):
    """A text that carries no seal; the message says why."""


def carried(seal: bytes, head: str) -> str:
    """The text that carries a seal. ``head``: words for people; letters that a code does not have are left out."""
    return f"{plain_head(head)}{_SPLIT}{base45(zlib.compress(seal, 9))}"


def plain_head(text: str) -> str:
    """The words in the letters of a code: capitals, digits, blanks and a few signs; no colon."""
    bare = unicodedata.normalize("NFKD", text).upper()
    kept = "".join(letter if letter in _HEAD_LETTERS else " " for letter in bare if not unicodedata.combining(letter))
    return " ".join(kept.split())[:_HEAD].strip()


def head_of(record: SealRecord) -> str:
    """The words before the seal in a code: title, date, the heaviest gross mass, running number."""
    gross_masses = [
        places[GROSS].value for owners in record.figures.values() for places in owners.values() if GROSS in places
    ]
    heaviest = max(gross_masses, default=None)
    gross = "" if heaviest is None else f"{heaviest / 10**record.decimals:.0f} {record.unit}"
    return f"{record.title[:24]} {record.date or ''} {gross} NO {record.number}"


def uncarried(text: str) -> bytes:
    """The bytes of the seal that a text carries. White space at the ends and line breaks of a paste do not count.

    Raises
    ------
    CarrierError: it is too long, has no colon, is no Base45 behind it, or does not unpack to one short message.
    """
    if len(text) > LONGEST_TEXT:
        raise CarrierError(f"has {len(text)} letters; at most {LONGEST_TEXT} are read")
    head, split, packed = re.sub(r"[\r\n\t\ufeff]", "", text).strip("\u00a0").partition(_SPLIT)
    if not split:
        raise CarrierError("carries no seal: there is no colon behind the words")
    del head
    try:
        data = from_base45(packed)
    except Base45Error:
        try:
            data = from_base45(packed.rstrip(" "))  # a paste may end in blanks
        except Base45Error as error:
            raise CarrierError(f"carries no seal: it {error}") from None
    return unpacked(data)


def unpacked(data: bytes) -> bytes:
    """Bytes inflated, at most so many as a seal has.

    Raises
    ------
    CarrierError: they are no compressed bytes, cut short, followed by more, or inflate to too many.
    """
    machine = zlib.decompressobj()
    try:
        plain = machine.decompress(data, LARGEST + 1)
    except zlib.error:
        raise CarrierError("carries no seal: it does not unpack") from None
    if len(plain) > LARGEST:
        raise CarrierError(f"carries no seal: it unpacks to more than {LARGEST} bytes")
    if not machine.eof:
        raise CarrierError("carries no whole seal: it is cut short")
    if machine.unused_data:
        raise CarrierError("carries more than a seal: bytes follow its end")
    return plain
