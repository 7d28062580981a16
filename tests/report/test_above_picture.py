"""Pictures: the right size, clear where the drawing is clear, the same every time."""

from __future__ import annotations

import struct
import zlib

import pytest
import typst

from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.sheet.picture import own_faces, svg_to_png
from tests.report.sample import sample

SAMPLE = sample()


def pixels(png: bytes) -> tuple[int, int, list[bytes]]:
    """Width, height and the rows of an eight-bit RGBA picture (PNG, third edition: sections 5, 9 and 11.2.1)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at, data, head = 8, b"", b""
    while at < len(png):
        length, kind = struct.unpack_from(">I4s", png, at)
        body = png[at + 8 : at + 8 + length]
        head = body if kind == b"IHDR" else head
        data += body if kind == b"IDAT" else b""
        at += 12 + length
    width, height, depth, colour = struct.unpack_from(">IIBB", head)
    assert (depth, colour) == (8, 6)
    raw, rows, before = zlib.decompress(data), [], bytes(4 * width)
    for place in range(height):
        start = place * (4 * width + 1)
        before = unfiltered(raw[start], raw[start + 1 : start + 1 + 4 * width], before)
        rows.append(before)
    return width, height, rows


def unfiltered(kind: int, line: bytes, above: bytes) -> bytes:
    """One row with its filter undone."""
    if kind in (0, 2):
        return line if kind == 0 else bytes((a + b) & 255 for a, b in zip(line, above, strict=True))
    out = bytearray(4) + bytearray(len(line))
    over = bytes(4) + above
    for at, value in enumerate(line, 4):
        left, up, corner = out[at - 4], over[at], over[at - 4]
        guess = {1: left, 3: (left + up) // 2}.get(kind)
        if guess is None:
            aim = left + up - corner
            guess = min((left, up, corner), key=lambda item: abs(aim - item))
        out[at] = (value + guess) & 255
    return bytes(out[4:])


def test_picture_of_a_transparent_drawing_is_clear_around_it() -> None:
    width, _, rows = pixels(svg_to_png(above_svg(SAMPLE, "hitched", theme="transparent"), 480))
    alphas = [row[3::4] for row in rows]
    assert width == 480
    assert set(alphas[0]) == {0}
    assert 255 in {alpha for row in alphas for alpha in row}


@pytest.mark.parametrize(("theme", "ground"), [("light", b"\xfb\xfa\xf7\xff"), ("dark", b"\x11\x16\x1c\xff")])
def test_picture_on_a_ground_is_opaque(theme, ground: bytes) -> None:
    width, height, rows = pixels(svg_to_png(above_svg(SAMPLE, "solo", theme=theme), 320))
    assert (width, height) == (320, 218)
    assert rows[0][:4] == ground
    assert {alpha for row in rows for alpha in row[3::4]} == {255}


def test_picture_is_the_same_every_time() -> None:
    svg = above_svg(SAMPLE, "full")
    assert svg_to_png(svg, 200) == svg_to_png(svg, 200)


def test_pictures_use_the_shipped_faces_and_no_others() -> None:
    assert isinstance(own_faces(), typst.Fonts)
    assert {(face.family, face.weight) for face in own_faces().fonts()} == {("DejaVu Sans", 400), ("DejaVu Sans", 700)}


@pytest.mark.parametrize("width", [0, -5, 16385])
def test_width_is_bounded(width: int) -> None:
    with pytest.raises(ValueError, match=f"a picture is 1 to 16,384 pixels wide, not {width}"):
        svg_to_png("<svg/>", width)


def test_what_is_no_svg_is_refused() -> None:
    with pytest.raises(ValueError, match="is not SVG"):
        svg_to_png("plainly not", 100)
