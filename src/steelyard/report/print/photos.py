"""Photographs for the ticket: which files can be printed, and what a stranger is not to read in them.

A camera writes the place and the time into a JPEG. Only the way it was held is kept: a ticket is published.
Sources: ISO/IEC 10918-1 (JPEG, markers and frame header), CIPA DC-008 (Exif, orientation), W3C PNG (third edition),
RFC 9649 (WebP).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass, replace

LARGEST_PHOTO = 20_000_000
"""The most bytes of one photograph."""

MOST_PHOTOS = 24
"""The most photographs of a ticket."""

_PIXELS = 100_000_000
JPEG = b"\xff\xd8\xff"
"""First bytes of a JPEG."""

_PNG, _RIFF = b"\x89PNG\r\n\x1a\n", b"RIFF"
_KINDS = "JPEG, PNG or WebP"
_FRAMES = frozenset({0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF})
_KEPT_NOTES = frozenset({0xE0, 0xE2, 0xEE})  # JFIF, colour profile, how colours were mixed


class PhotoError(ValueError):
    """A photograph that cannot be printed; the message says why and what can be."""


@dataclass(frozen=True, slots=True)
class TicketPhoto:
    """A photograph and the words under it."""

    data: bytes
    caption: str


def printable_photo(photo: TicketPhoto) -> TicketPhoto:
    """The photograph as it is printed, without the place and the time that the camera wrote into it.

    Raises
    ------
    PhotoError: no picture of a kind that can be printed, too large, damaged, or mixed for a printing press.
    """
    check_size(photo.data, most=_PIXELS)
    made = replace(photo, data=_cleaned(photo.data))
    _check_mixing(made.data)
    _typeset(made.data)
    return made


def check_size(data: bytes, *, most: int) -> None:
    """See that a file is a picture of a known kind with at most so many pixels, before anybody opens it.

    Raises
    ------
    PhotoError: it is none, it is too large, or it does not say its size.
    """
    if len(data) > LARGEST_PHOTO:
        raise PhotoError(too_large(len(data)))
    wide, high = _size(_cleaned(data))
    if not wide or not high:
        raise PhotoError("is damaged: it does not say how wide and high it is")
    if wide * high > most:
        raise PhotoError(f"has {wide:,} by {high:,} pixels; a photograph has at most {most // 10**6} million")


def too_large(size: int) -> str:
    """The message about a file of ``size`` bytes."""
    return f"has {size / 1e6:,.1f} MB; a photograph has at most {LARGEST_PHOTO / 1e6:g} MB"


def _typeset(data: bytes) -> None:
    """Set the picture alone on a page.

    Raises
    ------
    PhotoError: the typesetter cannot read it.
    """
    import tempfile
    from pathlib import Path

    import typst

    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        (root / "photo").write_bytes(data)
        page = root / "page.typ"
        page.write_bytes(b'#set page(width: auto, height: auto)\n#image("photo", width: 1cm)\n')
        try:
            typst.compile(page, root=root, format="pdf")
        except (typst.TypstError, RuntimeError) as error:
            raise PhotoError("is damaged: not all of it can be read") from error


def _cleaned(data: bytes) -> bytes:
    if data.startswith(_PNG) or (data.startswith(_RIFF) and data[8:12] == b"WEBP"):
        return data  # the typesetter keeps their pixels alone
    if not data.startswith(JPEG):
        raise PhotoError(f"is not a picture that can be printed; a photograph is {_KINDS}")
    return _without_notes(data)


def _size(data: bytes) -> tuple[int, int]:
    """Width and height in pixels; 0 where the file does not say."""
    if data.startswith(_PNG):
        return struct.unpack_from(">II", data, 16) if len(data) >= 24 else (0, 0)
    if data.startswith(_RIFF):
        return _webp_size(data)
    for marker, at, length in _segments(data):
        if marker in _FRAMES and length >= 8:
            high, wide = struct.unpack_from(">HH", data, at + 5)
            return wide, high
    return 0, 0


def _check_mixing(data: bytes) -> None:
    """See that a picture has the colours of a screen; raises a ``PhotoError`` where it has those of a press."""
    for marker, at, length in _segments(data) if data.startswith(JPEG) else ():
        if marker in _FRAMES and length >= 8 and data[at + 9] == 4:
            raise PhotoError("is mixed for a printing press (CMYK); save it with the colours of a screen (RGB)")


def _webp_size(data: bytes) -> tuple[int, int]:
    kind = data[12:16]
    if len(data) < 30:
        return 0, 0
    if kind == b"VP8X":
        return 1 + int.from_bytes(data[24:27], "little"), 1 + int.from_bytes(data[27:30], "little")
    if kind == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    wide, high = struct.unpack_from("<HH", data, 26)
    return wide & 0x3FFF, high & 0x3FFF


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """The segments of a JPEG before its first scan: marker, where it begins, and its length without the marker."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xFF:  # a fill byte
            at += 1
            continue
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        if marker in (0xDA, 0xD9) or length < 2:
            return
        yield marker, at, length
        at += 2 + length


def _without_notes(data: bytes) -> bytes:
    """A JPEG without the notes of the camera but for the way it was held."""
    pieces, turned, end = [data[:2]], 1, 2
    for marker, at, length in _segments(data):
        segment = data[at : at + 2 + length]
        if marker == 0xE1:
            turned = max(turned, _orientation(segment[4:]))
        elif not (0xE1 <= marker <= 0xEF or marker == 0xFE) or marker in _KEPT_NOTES:
            pieces.append(segment)
        end = at + 2 + length
    if b"\xff\xd9" not in data[end:]:
        raise PhotoError("is damaged: its end is missing")
    if turned != 1:
        pieces.insert(1, _held(turned))
    return b"".join([*pieces, data[end:]])


def _orientation(note: bytes) -> int:
    """How the camera was held, 1 to 8; 1 where the note does not say."""
    if not note.startswith(b"Exif\0\0"):
        return 1
    body = note[6:]
    order = {b"II": "<", b"MM": ">"}.get(body[:2])
    if order is None or len(body) < 10:
        return 1
    (first,) = struct.unpack_from(f"{order}I", body, 4)
    if first + 2 > len(body):
        return 1
    (count,) = struct.unpack_from(f"{order}H", body, first)
    for place in range(first + 2, min(first + 2 + 12 * count, len(body) - 11), 12):
        tag, kind = struct.unpack_from(f"{order}HH", body, place)
        if tag == 0x0112 and kind == 3:
            (value,) = struct.unpack_from(f"{order}H", body, place + 8)
            return value if 1 <= value <= 8 else 1
    return 1


def _held(turned: int) -> bytes:
    """A note that says how the camera was held and nothing else."""
    body = b"Exif\0\0MM\0*" + struct.pack(">IHHHIHHI", 8, 1, 0x0112, 3, 1, turned, 0, 0)
    return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
