"""A logo on a drawing: a PNG or SVG that is looked through, cleaned and kept inside the drawing.

A PNG keeps the chunks that a viewer needs for its pixels; names, places and dates that a camera or a program wrote into
it are left out. Source: Portable Network Graphics, third edition (W3C, 2025), sections 5 and 11.
"""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.logo_svg import LogoError, clean_svg

LARGEST = 1_000_000
"""Bytes of a logo, at most: every drawing holds a copy of it."""

_SIDE = 4096  # px
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_KEPT = (b"IHDR", b"PLTE", b"tRNS", b"gAMA", b"sRGB", b"IDAT", b"IEND")
_CHANNELS = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}
_PASSES = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))


@dataclass(frozen=True, slots=True)
class Logo:
    """A picture for a corner of drawings: its bytes, its media type, and its width over its height."""

    data: bytes
    media: str
    aspect: float

    def place(self, canvas: Canvas, *, right: float, top: float, wide: float, high: float) -> float:
        """Put it into a box of ``wide`` by ``high`` units, against its right edge. Returns the width that it takes."""
        width = min(wide, high * self.aspect)
        height = width / self.aspect
        uri = f"data:{self.media};base64,{base64.b64encode(self.data).decode()}"
        canvas.add(
            "image",
            halo=False,
            x=right - width,
            y=top + (high - height) / 2,
            width=width,
            height=height,
            href=uri,
            class_="logo",
        )
        return width


def read_logo(data: bytes) -> Logo:
    """A logo from the bytes of its file.

    Raises
    ------
    LogoError: it is no whole PNG or SVG, it is too large, or it would bring in a script, a font or something from
        outside.
    """
    if len(data) > LARGEST:
        raise LogoError(f"is larger than a logo may be, {LARGEST // 1000:,} kB; save it smaller")
    if data.startswith(_SIGNATURE):
        kept, width, height = _clean_png(data)
        return Logo(kept, "image/png", width / height)
    if b"<svg" in data[:4096] or data.lstrip()[:1] == b"<":
        kept, aspect = clean_svg(data)
        return Logo(kept, "image/svg+xml", aspect)
    raise LogoError("is not a picture that can be used; give a PNG or an SVG")


def _clean_png(data: bytes) -> tuple[bytes, int, int]:
    """The file without what no viewer needs, its width and its height [px]."""
    chunks = list(_chunks(data))
    if not chunks or chunks[0][0] != b"IHDR" or len(chunks[0][1]) != 13 or chunks[-1][0] != b"IEND":
        raise LogoError("is not a whole PNG; save it again")
    width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", chunks[0][1])
    if not (0 < width <= _SIDE and 0 < height <= _SIDE):
        raise LogoError(f"has {width:,} by {height:,} pixels; a logo may have {_SIDE:,} by {_SIDE:,}")
    if colour not in _CHANNELS or depth not in (1, 2, 4, 8, 16) or interlaced > 1:
        raise LogoError("is not a PNG that can be read; save it again")
    if colour == 3 and not any(name == b"PLTE" for name, _ in chunks):
        raise LogoError("is a PNG without its table of colours; save it again")
    wanted = _raw_size(width, height, depth * _CHANNELS[colour], interlaced=bool(interlaced))
    try:
        inflater = zlib.decompressobj()
        raw = inflater.decompress(b"".join(body for name, body in chunks if name == b"IDAT"), wanted)
    except zlib.error:
        raw = b""
    if len(raw) < wanted:
        raise LogoError("is a PNG whose pixels are not all there; save it again")
    return _SIGNATURE + b"".join(_written(name, body) for name, body in chunks if name in _KEPT), width, height


def _chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Name and content of each chunk up to the last one, each with a sound check sum."""
    at = len(_SIGNATURE)
    while at + 12 <= len(data):
        length, name = struct.unpack_from(">I4s", data, at)
        body = data[at + 8 : at + 8 + length]
        if (
            at + 12 + length > len(data)
            or zlib.crc32(name + body) != struct.unpack_from(">I", data, at + 8 + length)[0]
        ):
            raise LogoError("is not a whole PNG; save it again")
        yield name, body
        if name == b"IEND":
            return
        at += 12 + length


def _written(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def _raw_size(width: int, height: int, bits: int, *, interlaced: bool) -> int:
    """Bytes of the pixels before they are packed: each row has one more, which names its filter."""
    passes = _PASSES if interlaced else ((0, 0, 1, 1),)
    total = 0
    for x, y, across, down in passes:
        columns, rows = max(0, -(-(width - x) // across)), max(0, -(-(height - y) // down))
        total += rows * (1 + (columns * bits + 7) // 8) if columns else 0
    return total
