"""A drawing as pixels or as a page, with the shipped faces only, so that it looks the same on every machine."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from steelyard.report.drawings.sheet.type import FONTS

if TYPE_CHECKING:
    import typst

_PAGE = b"""#set page(width: auto, height: auto, margin: 0pt, fill: none)
#image(bytes(sys.inputs.svg), format: "svg", width: int(sys.inputs.width) * 1pt)
"""


def svg_to_png(svg: str, width_px: int) -> bytes:
    """Render ``svg`` at a width of ``width_px`` pixels; what it leaves clear stays clear.

    Raises
    ------
    ValueError: the width is not between 1 and 16,384 pixels, or the text is no SVG.
    """
    if not 1 <= width_px <= 16384:
        raise ValueError(f"a picture is 1 to 16,384 pixels wide, not {width_px}")
    import typst

    try:
        return typst.compile(
            _PAGE,
            font_paths=own_faces(),
            ignore_system_fonts=True,
            format="png",
            ppi=72.0,
            sys_inputs={"svg": svg, "width": str(width_px)},
        )
    except typst.TypstError as error:
        raise ValueError(f"is not SVG: {error.message}") from error


_SHEET = b"""#set document(title: sys.inputs.title, author: "Steelyard", date: none)
#set text(lang: "en")
#set page(paper: "a4", flipped: true, margin: 0pt)
#image(bytes(sys.inputs.svg), format: "svg", width: 100%, alt: sys.inputs.said)
"""


def svg_to_pdf(svg: str, *, title: str, said: str) -> bytes:
    """A drawing on one page of A4 on its side, as PDF/UA-1; the same drawing gives the same bytes.

    Parameters
    ----------
    title: of the document. said: the drawing in words, for those who cannot see it.

    Raises
    ------
    ValueError: the text is no SVG.
    """
    import typst

    try:
        return typst.compile(
            _SHEET,
            font_paths=own_faces(),
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs={"svg": svg, "title": title, "said": said},
            pdf_standards=["ua-1"],
        )
    except typst.TypstError as error:
        raise ValueError(f"is not SVG: {error.message}") from error


@lru_cache(maxsize=1)
def own_faces() -> typst.Fonts:
    """The shipped faces, and no others."""
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])
