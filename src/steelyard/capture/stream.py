"""A stream of bytes into lines, whatever ends them and whatever noise comes between."""

from __future__ import annotations

import re

LONGEST = 256  # characters; no indicator prints a longer line, and noise without an end must not fill the memory

# A line ends with a carriage return, a line feed, or the end of a frame (ETX); a frame begins with STX.
_ENDS = re.compile(rb"[\r\n\x03]+")
_EDGES = "\x00\x02\x03\t \x7f"


class LineCollector:
    """Collects bytes and gives whole lines; half a line, at the end or where a stream was joined, is none.

    What is too long to be a line is given once, cut, so that it can be called garbled; the rest of it is thrown away.
    """

    def __init__(self) -> None:
        self._held = b""
        self._spill = False

    def skip_half(self) -> None:
        """The stream was joined in the middle of a line: what comes before the next end is no line."""
        self._spill = True

    def feed(self, data: bytes) -> list[str]:
        """The lines that these bytes complete, as text of one character a byte; empty lines are left out."""
        *whole, self._held = _ENDS.split(self._held + data)
        lines: list[str] = []
        for piece in whole:
            if not self._spill:
                lines.append(_text(piece))
            self._spill = False
        if len(self._held) > LONGEST:
            if not self._spill:
                lines.append(_text(self._held))
            self._spill = True
            self._held = b""
        return [line for line in lines if line]


def _text(piece: bytes) -> str:
    return piece[:LONGEST].decode("latin-1").rstrip(_EDGES).lstrip("\x00\x02\x03\x7f")


def plain(line: str) -> str:
    r"""A line as a person may see it: control and foreign characters as ``\xNN``, cut to what fits on a screen."""
    shown = "".join(letter if " " <= letter <= "~" else f"\\x{ord(letter):02x}" for letter in line)
    return shown if len(shown) <= 80 else f"{shown[:77]}..."


def quoted(line: str) -> str:
    r"""The same within a sentence: in quotes, a foreign character still as ``\xNN`` with one stroke."""
    return repr(plain(line)).replace("\\\\", "\\")
