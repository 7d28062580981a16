"""The codes in a photograph or a scan, out of a picture that may be hostile."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from io import BytesIO
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PIXELS = 80_000_000
"""Of a picture, width by height; a telephone takes some twelve to fifty million."""

_KINDS = ("PNG", "JPEG", "WEBP")
_LONG_SIDES = (4000, 2000, 1200)
_ANGLES = (0, 15, 30, 45, 60, 75)


class PictureError(ValueError):
    """A picture that cannot be read; the message says why."""


def texts_of(data: bytes) -> tuple[str, ...]:
    """The texts of all codes in a picture, each once; empty where none is found.

    It is looked at whole first, then smaller, larger, with more contrast and turned.

    Raises
    ------
    PictureError: it is damaged, of another kind, or has too many points.
    """
    grey = _grey(data)
    for image in _looks(grey):
        found = tuple(dict.fromkeys(_read(image)))
        if found:
            return found
    return ()


def _grey(data: bytes) -> Image:
    from PIL import ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the library's own bound is said as a warning; ours is kept below
            return ImageOps.autocontrast(_flat(data).convert("L"))
    except PictureError:
        raise
    except MemoryError:
        raise PictureError("asks for more memory than there is") from None
    except Exception as error:  # noqa: BLE001 - the library raises what comes, of a picture that is not as it should be
        raise PictureError(f"is damaged and cannot be read as a picture ({type(error).__name__})") from None


def _flat(data: bytes) -> Image:
    """The picture, on white where it lets something shine through."""
    from PIL import Image

    image = Image.open(BytesIO(data), formats=_KINDS)
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise PictureError(f"is a picture of {width} by {height} points; at most {MOST_PIXELS:,} are read")
    image.draft("L", (width, height))
    image.load()
    if "A" not in image.getbands() and "transparency" not in image.info:
        return image
    page = Image.new("RGBA", image.size, "white")
    page.alpha_composite(image.convert("RGBA"))
    return page


def _looks(image: Image) -> Iterator[Image]:
    """The picture in the ways in which it is looked at."""
    from PIL import Image as Images
    from PIL import ImageFilter

    yield image
    long = max(image.size)
    sizes = [side for side in _LONG_SIDES if side < 0.9 * long]
    shrunk = [_scaled(image, side / long) for side in sizes]
    yield from shrunk
    base = shrunk[-2] if len(shrunk) > 1 else shrunk[0] if shrunk else image
    if long <= _LONG_SIDES[1]:
        base = _scaled(image, 2.0)
        yield base
    yield base.filter(ImageFilter.UnsharpMask(radius=3, percent=200, threshold=0))
    yield base.filter(ImageFilter.GaussianBlur(1.2))
    for angle in _ANGLES[1:]:
        yield base.rotate(angle, Images.Resampling.BILINEAR, expand=True, fillcolor=255)


def _scaled(image: Image, factor: float) -> Image:
    from PIL import Image as Images

    size = (max(1, round(image.width * factor)), max(1, round(image.height * factor)))
    return image.resize(size, Images.Resampling.LANCZOS)


def _read(image: Image) -> Iterator[str]:
    import zxingcpp

    kind: Any = zxingcpp.BarcodeFormat.QRCode  # the library takes one kind or several
    found: Any = zxingcpp.read_barcodes(image, formats=kind)
    for code in found:
        if code.text:
            yield str(code.text)
