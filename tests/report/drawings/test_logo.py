"""A logo on a drawing: kept whole and in shape; whatever runs, loads or hides something is refused or left out."""

from __future__ import annotations

import base64
import io
import re
import struct
import zlib

import pytest
from PIL import Image, PngImagePlugin

from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.sheet.logo import LARGEST, Logo, read_logo
from steelyard.report.drawings.sheet.logo_svg import LogoError
from steelyard.report.drawings.sheet.picture import svg_to_png
from tests.report.sample import sample
from tests.report.svg_reading import SVG, root_of, texts

SAMPLE = sample()
PLAIN = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 10">{}</svg>'
RED = '<rect width="40" height="10" fill="#d00000"/>'


def png(width: int = 40, height: int = 20, *, mode: str = "RGB", **options: object) -> bytes:
    """A red picture."""
    file = io.BytesIO()
    Image.new(mode, (width, height), "red").save(file, "PNG", **options)  # type: ignore[arg-type]
    return file.getvalue()


def read(svg: str) -> str:
    return read_logo(svg.encode()).data.decode()


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "RGBA", "LA", "I;16"])
def test_a_png_of_any_kind_keeps_its_pixels(mode: str) -> None:
    picture = Image.new("RGB", (31, 17), (200, 30, 30)).convert(mode) if mode != "I;16" else Image.new(mode, (31, 17))
    file = io.BytesIO()
    picture.save(file, "PNG")
    logo = read_logo(file.getvalue())
    assert (logo.media, logo.aspect) == ("image/png", pytest.approx(31 / 17))
    kept, before = (Image.open(io.BytesIO(data)).convert("RGBA") for data in (logo.data, file.getvalue()))
    assert kept.tobytes() == before.tobytes()


def test_what_a_camera_or_a_program_wrote_into_a_png_is_left_out() -> None:
    info = PngImagePlugin.PngInfo()
    info.add_text("Author", "A name that nobody meant to publish")
    data = png(pnginfo=info)
    assert b"nobody meant" in data
    assert b"nobody meant" not in read_logo(data).data
    assert read_logo(png()).data == read_logo(png()).data


def chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def bomb() -> bytes:
    """A PNG that says it is small and holds far more."""
    head = struct.pack(">IIBBBBB", 4, 4, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(10**7))) + chunk(b"IEND", b"")
    )


def test_a_png_that_unpacks_to_far_more_is_not_unpacked() -> None:
    assert read_logo(bomb()).aspect == 1.0


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is not a picture that can be used; give a PNG or an SVG"),
        (b"GIF89a" + bytes(40), "is not a picture that can be used"),
        (b"\xff\xd8\xff\xe0" + bytes(40), "is not a picture that can be used"),
        (b"hello <b>you</b>", "is not a picture that can be used"),
        (png()[:-30], "is not a whole PNG"),
        (png().replace(b"IDAT", b"IDAU"), "is not a whole PNG"),
        (b"\x89PNG\r\n\x1a\n", "is not a whole PNG"),
        (
            png()[:8] + chunk(b"IHDR", struct.pack(">IIBBBBB", 9000, 2, 8, 2, 0, 0, 0)) + chunk(b"IEND", b""),
            "9,000 by 2",
        ),
        (
            png()[:8] + chunk(b"IHDR", struct.pack(">IIBBBBB", 4, 4, 8, 2, 0, 0, 0)) + chunk(b"IEND", b""),
            "not all there",
        ),
        (
            png()[:8] + chunk(b"IHDR", struct.pack(">IIBBBBB", 4, 4, 8, 5, 0, 0, 0)) + chunk(b"IEND", b""),
            "a PNG that can be read",
        ),
        (b"x" * (LARGEST + 1), "is larger than a logo may be, 1,000 kB"),
        (PLAIN.format("<script>alert(1)</script>").encode(), "has a script;"),
        (PLAIN.format('<rect onload="x()" width="4" height="4"/>').encode(), "has a script (onload)"),
        (PLAIN.format("<foreignObject/>").encode(), "has a page inside it"),
        (PLAIN.format('<image href="https://elsewhere.example/a.png"/>').encode(), "has a picture inside it"),
        (PLAIN.format("<text>A</text>").encode(), "has letters that need a font; turn them into paths"),
        (PLAIN.format('<a href="https://elsewhere.example"/>').encode(), "has a link;"),
        (PLAIN.format('<use href="other.svg#a"/>').encode(), "has a link to something outside"),
        (PLAIN.format('<rect fill="url( a.svg)"/>').encode(), "has a link to something outside (fill)"),
        (PLAIN.format("<style>@import 'a.css';</style>").encode(), "has a style that loads something"),
        (PLAIN.format(r"<style>a{b:u\72l(x)}</style>").encode(), "has a style that loads something"),
        (PLAIN.format('<rect style="fill:url(x.svg#a)"/>').encode(), "has a link to something outside (style)"),
        (PLAIN.format('<animate attributeName="x"/>').encode(), "has a motion"),
        (PLAIN.format("<blink/>").encode(), "has <blink>"),
        (
            PLAIN.format('<g id="a"><use href="#b"/></g><use href="#a"/>').encode(),
            "has copies of shapes that hold copies",
        ),
        (PLAIN.format('<use id="a" href="#a"/>').encode(), "has copies of shapes that hold copies"),
        (PLAIN.format('<use href="#b"/>' * 1001).encode(), "has more than 1000 copies of shapes"),
        (b'<!DOCTYPE svg [<!ENTITY a "b">]>' + PLAIN.format("&a;").encode(), "declares names of its own"),
        (PLAIN.format("<g>").encode(), "is not a whole SVG"),
        (PLAIN.format("<g>" * 60 + "</g>" * 60).encode(), "more than 50 groups"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"/>', "is an SVG without a size"),
        (b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 0 9"/>', "is an SVG without a size"),
        (b'<html xmlns="http://www.w3.org/1999/xhtml"><svg/></html>', "is not SVG"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_sentence(data: bytes, said: str) -> None:
    with pytest.raises(LogoError, match=re.escape(said)) as refused:
        read_logo(data)
    assert "\n" not in str(refused.value)


def test_shapes_and_colours_of_an_svg_stay_and_what_a_program_kept_for_itself_goes() -> None:
    drawing = (
        '<metadata>secret</metadata><x:view xmlns:x="urn:x" a="1"/><title>secret</title>'
        "<style>.a{fill:#d00}</style><defs><linearGradient id='g'><stop offset='0'/></linearGradient></defs>"
        '<!-- secret --><path class="a" d="M0 0h4v4z" fill="url(#g)" x:label="secret" xmlns:x="urn:x"/>'
    )
    kept = read(PLAIN.format(drawing))
    assert "secret" not in kept
    for part in (".a{fill:#d00}", 'fill="url(#g)"', 'd="M0 0h4v4z"', "linearGradient", 'class="a"'):
        assert part in kept


def test_an_svg_with_a_size_and_no_view_box_gets_one() -> None:
    logo = read_logo(
        b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="10mm"><g/></svg>'
    )
    assert logo.aspect == pytest.approx(3.0)
    assert b'viewBox="0 0 30 10"' in logo.data


def logo_of(svg: str) -> tuple[float, float, float, float]:
    node = next(root_of(svg).iter(f"{SVG}image"))
    assert node.attrib["href"].startswith("data:image/svg+xml;base64,")
    assert base64.b64decode(node.attrib["href"].partition(",")[2]).startswith(b"<svg")
    return tuple(float(node.attrib[name]) for name in ("x", "y", "width", "height"))  # type: ignore[return-value]


@pytest.mark.parametrize("shape", [None, "16:9", "1:1"])
def test_the_logo_keeps_its_shape_in_the_corner_and_no_word_lies_on_it(shape: str | None) -> None:
    logo = read_logo(PLAIN.format(RED).encode())
    svg = above_svg(SAMPLE, "hitched", shape=shape, logo=logo)
    x, y, wide, high = logo_of(svg)
    assert wide / high == pytest.approx(4.0, rel=1e-3)
    for box in texts(root_of(svg)):
        assert box.right <= x or box.left >= x + wide or box.top >= y + high or box.bottom <= y, box
    assert "<image" not in above_svg(SAMPLE, "hitched", shape=shape)


@pytest.mark.parametrize("data", [png(), PLAIN.format(RED).encode()])
def test_the_logo_is_seen_in_the_pixels(data: bytes) -> None:
    logo: Logo = read_logo(data)
    picture = Image.open(io.BytesIO(svg_to_png(above_svg(SAMPLE, "solo", shape="1:1", logo=logo), 400))).convert("RGB")
    pixels = list(picture.crop((280, 10, 390, 70)).tobytes())
    assert sum(red > 180 and green < 40 for red, green in zip(pixels[::3], pixels[1::3], strict=True)) > 400


def test_a_copy_of_a_shape_stays() -> None:
    assert 'href="#a"' in read(PLAIN.format('<path id="a" d="M0 0h4v4z"/><use href="#a" x="4"/>'))
