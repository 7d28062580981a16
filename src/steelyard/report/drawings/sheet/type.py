"""The two shipped faces: where they lie and how wide a text comes out in them.

Labels are laid out by measured widths, so that no two of them ever meet. Only the advance widths are read.
Source: OpenType 1.9, tables ``cmap`` (format 4), ``head``, ``hhea`` and ``hmtx``.
"""

from __future__ import annotations

import bisect
import struct
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

FONTS = Path(__file__).parents[2] / "fonts"
"""The folder of the shipped faces (with their licence)."""

FAMILY = "'DejaVu Sans Condensed','Helvetica Neue',Arial,'Liberation Sans','DejaVu Sans',sans-serif"
"""Font families of a drawing. The shipped face goes by the last name; those before it are about as narrow, for a viewer
that has not got it."""

REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
"""Stands for a character that the shipped faces lack."""

_SPACES = ("\t", "\r", "\x0b", "\x0c", "\x85", "\u2028", "\u2029")
_SHAPERS = ("\u00ad", "\u200c", "\u200d", "\ufe0e", "\ufe0f")  # soft hyphen, joiners, selectors of a style

ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"
_FILES = {False: "DejaVuSansCondensed.ttf", True: "DejaVuSansCondensed-Bold.ttf"}


@dataclass(frozen=True, slots=True)
class _Face:
    """Advance widths of one face, in units of the em."""

    em: int
    ends: tuple[int, ...]
    starts: tuple[int, ...]
    deltas: tuple[int, ...]
    offsets: tuple[int, ...]
    glyphs: tuple[int, ...]
    advances: tuple[int, ...]

    def advance(self, character: str) -> float:
        """The width of one character [em]; one that the face lacks counts as a full em."""
        glyph = self.glyph(character)
        return self.advances[min(glyph, len(self.advances) - 1)] / self.em if glyph else 1.0

    def glyph(self, character: str) -> int:
        """The number of a character's shape; 0 where the face lacks it."""
        code = ord(character)
        place = bisect.bisect_left(self.ends, code)
        if place == len(self.ends) or code < self.starts[place]:
            return 0
        if self.offsets[place] == 0:
            return (code + self.deltas[place]) & 0xFFFF
        at = self.offsets[place] // 2 + code - self.starts[place] - (len(self.ends) - place)
        return (self.glyphs[at] + self.deltas[place]) & 0xFFFF if self.glyphs[at] else 0


def printable(text: str) -> str:
    """``text`` with the replacement character for each that the shipped faces lack or that no page can hold.

    Left out are the joiners and selectors that only shape what they stand beside. Line ends stay, tabs become spaces.
    """
    return "".join(map(_printed, unicodedata.normalize("NFC", text)))


@lru_cache(maxsize=4096)
def _printed(character: str) -> str:
    if character == "\n" or " " <= character <= "~":
        return character
    if character in _SPACES:
        return " "
    if character in _SHAPERS:
        return ""
    shapeless = unicodedata.category(character) in ("Cc", "Cf", "Cn", "Co", "Cs")
    known = not shapeless and all(_face(bold).glyph(character) for bold in (False, True))
    return character if known else REPLACEMENT


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """How wide ``text`` comes out at ``size``, in the unit of ``size``; kerning, which only narrows, is left out."""
    return size * _wide(text, bold)


@lru_cache(maxsize=8192)
def _wide(text: str, bold: bool) -> float:
    """Width of a text [em]."""
    face = _face(bold)
    return sum(face.advance(character) for character in text)


def fitted(text: str, size: float, room: float, *, bold: bool = False, end: str = "") -> str:
    """``text`` and ``end``; the text is cut short with an ellipsis where both are wider than ``room``."""
    if text_width(text + end, size, bold=bold) <= room:
        return text + end
    if end and text_width(ELLIPSIS + end, size, bold=bold) > room:
        return fitted(end.lstrip(), size, room, bold=bold)
    while text and text_width(text + ELLIPSIS + end, size, bold=bold) > room:
        text = text[:-1].rstrip()
    return text + ELLIPSIS + end


def broken(
    text: str, size: float, room: float, *, bold: bool = False, most: int = 3, first: float | None = None
) -> list[str]:
    """``text`` in lines no wider than ``room``; what goes beyond ``most`` lines is cut short with an ellipsis.

    ``first`` is the room of the first line, where that is another. A no-break space holds two words on one line.
    """
    lines: list[str] = []
    rooms = [room if first is None else first]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold=bold) <= rooms[-1]:
            lines[-1] = longer
        else:
            rooms += [room] if lines else []
            lines.append(word)
    if len(lines) > most:
        lines[most - 1 :] = [" ".join(lines[most - 1 :])]
    return [
        fitted(line.replace("\N{NO-BREAK SPACE}", " "), size, wide, bold=bold)
        for line, wide in zip(lines, rooms, strict=False)
    ]


@lru_cache(maxsize=2)
def _face(bold: bool) -> _Face:
    data = (FONTS / _FILES[bold]).read_bytes()
    count = struct.unpack_from(">H", data, 4)[0]
    tables = {data[at : at + 4]: struct.unpack_from(">I", data, at + 8)[0] for at in range(12, 12 + 16 * count, 16)}
    em = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
    metrics = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]
    advances = struct.unpack_from(f">{2 * metrics}H", data, tables[b"hmtx"])[::2]
    at = _unicode_table(data, tables[b"cmap"])
    length, segments = struct.unpack_from(">H", data, at + 2)[0], struct.unpack_from(">H", data, at + 6)[0] // 2
    row = f">{segments}H"
    ends = struct.unpack_from(row, data, at + 14)
    starts, deltas, offsets = (
        struct.unpack_from(row, data, at + 16 + 2 * segments * (1 + place)) for place in range(3)
    )
    rest = at + 16 + 8 * segments
    glyphs = struct.unpack_from(f">{(at + length - rest) // 2}H", data, rest)
    return _Face(em, ends, starts, deltas, offsets, glyphs, advances)


def _unicode_table(data: bytes, cmap: int) -> int:
    """Offset of the table for the basic plane (Windows, Unicode)."""
    count = struct.unpack_from(">H", data, cmap + 2)[0]
    for place in range(count):
        platform, encoding, offset = struct.unpack_from(">HHI", data, cmap + 4 + 8 * place)
        if (platform, encoding) == (3, 1):
            return cmap + offset
    raise ValueError("the face has no Unicode table")
