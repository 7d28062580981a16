"""A text as a QR code for paper: every module 0.5 mm wide, dark on white, never made smaller.

Source: ISO/IEC 18004 (alphanumeric mode, error correction level M, a quiet zone of four modules).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from steelyard.seals.carrier import MODULE_MM

QUIET = 4
"""Modules of white on every side."""

LARGEST_VERSION = 20

_MASK = 0
"""The pattern that is laid over the code. The standard lets an encoder score all eight, which takes four times as long
as the rest; packed and signed bytes are as good as random, so that the scores differ by a tenth, and a reader
takes any of them."""


@dataclass(frozen=True, slots=True)
class PrintedCode:
    """A code to print. ``version``: from 1. ``side``: its width and height with the quiet zone [mm]."""

    svg: str
    version: int
    side: float


def printed_code(text: str) -> PrintedCode:
    """The code of a text in the letters of alphanumeric mode.

    Raises
    ------
    ValueError: the text needs a code of more than version 20, or a letter that this mode does not have.
    """
    import segno

    made = segno.make(text, error="m", mode="alphanumeric", boost_error=False, micro=False, mask=_MASK)
    version = int(made.version)
    if version > LARGEST_VERSION:
        raise ValueError(
            f"a text of {len(text)} letters needs a code of version {version}; {LARGEST_VERSION} is the most"
        )
    modules = len(made.matrix) + 2 * QUIET
    side = MODULE_MM * modules
    dark = "".join(_runs(made.matrix))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}mm" height="{side}mm" viewBox="0 0 {modules} {modules}">'
        f'<path fill="#ffffff" d="M0 0h{modules}v{modules}H0z"/><path fill="#000000" d="{dark}"/></svg>'
    )
    return PrintedCode(svg, version, side)


def _runs(matrix: Sequence[Sequence[int]]) -> Iterator[str]:
    """The dark modules as rectangles of one path, so that no seam shows between two rows."""
    for row, modules in enumerate(matrix):
        column = 0
        for dark, run in groupby(modules):
            length = len(list(run))
            if dark:
                yield f"M{column + QUIET} {row + QUIET}h{length}v1h-{length}z"
            column += length
