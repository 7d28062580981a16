"""The sheet that a drawing is put on: SVG elements in order, with a halo beneath where the theme asks for one."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

from steelyard.report.drawings.sheet.palette import Palette
from steelyard.report.drawings.sheet.type import FAMILY, printable, text_width

_HALO = 3.0
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NAMES = ("over", "lost", "floor", "barred")
HATCH = "url(#over)"
"""The fill of a load that is over its rating."""

DOTS = "url(#lost)"
"""The fill of a load that is lost in a change."""


def number(value: float) -> str:
    """A coordinate: a thousandth of a unit is finer than any screen."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def clean(text: str) -> str:
    """``text`` without the characters that XML cannot hold (XML 1.0, production 2)."""
    return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)


class Canvas:
    """Elements in drawing order."""

    def __init__(self, palette: Palette) -> None:
        self.palette = palette
        self._below: list[str] = []
        self._above: list[str] = []

    def add(self, tag: str, *, halo: bool = True, **attributes: str | float | None) -> None:
        """A shape. Names of attributes are written with ``_`` for ``-``; None leaves one out."""
        self._above.append(_element(tag, attributes))
        if halo and self.palette.halo is not None:
            width = attributes.get("stroke_width")
            under = dict(attributes)
            under.update(
                stroke=self.palette.halo,
                stroke_width=(width if isinstance(width, float | int) and attributes.get("stroke") else 0.0)
                + 2 * _HALO,
                stroke_linejoin="round",
                stroke_dasharray=None,
                fill="none" if attributes.get("fill") in (None, "none") else self.palette.halo,
                opacity=0.8,
                id=None,
                data_place=None,
            )
            self._below.append(_element(tag, under))

    def line(
        self, x1: float, y1: float, x2: float, y2: float, *, stroke: str, width: float, dash: str | None = None
    ) -> None:
        """A straight line."""
        self.add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, stroke_dasharray=dash)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        anchor: str = "start",
        fill: str | None = None,
    ) -> None:
        """A line of text with its baseline at ``y``."""
        halo = self.palette.halo
        attributes: dict[str, str | float | None] = {
            "x": x,
            "y": y,
            "font_size": size,
            "font_weight": "700" if bold else None,
            "text_anchor": None if anchor == "start" else anchor,
            "fill": fill or self.palette.ink,
        }
        if halo is not None and fill != self.palette.on_ink:
            attributes.update(paint_order="stroke", stroke=halo, stroke_width=4.5, stroke_linejoin="round")
        self._above.append(_element("text", attributes, printable(text)))

    def tag(self, x: float, y: float, text: str, size: float) -> float:
        """A word on a patch of ink, centred on ``x`` with its baseline at ``y``: what nobody may overlook."""
        width = tag_width(text, size)
        self.add(
            "rect",
            x=x - width / 2,
            y=y - size * 0.98,
            width=width,
            height=size * 1.3,
            rx=2.0,
            fill=self.palette.ink,
        )
        self.text(x, y, text, size, bold=True, anchor="middle", fill=self.palette.on_ink)
        return width

    def raw(self, element: str) -> None:
        """An element as it stands: the caller sees to its text."""
        self._above.append(element)

    def open(self, **attributes: str | None) -> None:
        """Begin a group."""
        self._above.append(_element("g", dict(attributes), None).replace("/>", ">"))

    def close(self) -> None:
        """End the group that was begun last."""
        self._above.append("</g>")

    def document(self, *, width: float, height: float, title: str, description: str) -> str:
        """The whole drawing, as SVG text."""
        palette, shape = self.palette, f"{number(width)} {number(height)}"
        head = {"width": width, "height": height, "viewBox": f"0 0 {shape}", "role": "img"}
        body = [*self._below, *self._above]
        if palette.ground is not None:
            body.insert(0, _element("rect", {"width": width, "height": height, "fill": palette.ground}))
        # drawings that stand on one page must not share names
        key = hashlib.sha256("".join([clean(title), shape, *body]).encode()).hexdigest()[:10]
        face = {"font_family": FAMILY, "font_stretch": "condensed", "font_kerning": "none"}
        names = {"xmlns": "http://www.w3.org/2000/svg", "aria_labelledby": f"title-{key} desc-{key}"}
        parts = [
            _element("svg", {**names, **head, **face}).replace("/>", ">"),
            f'<title id="title-{key}">{escape(clean(title))}</title>',
            f'<desc id="desc-{key}">{escape(clean(description))}</desc>',
            *_patterns(palette, body),
            *body,
            "</svg>\n",
        ]
        text = "\n".join(parts)
        for name in _NAMES:
            text = text.replace(f'id="{name}"', f'id="{name}-{key}"').replace(f"url(#{name})", f"url(#{name}-{key})")
        return text


def tag_width(text: str, size: float) -> float:
    """How wide a word comes out on its patch."""
    return text_width(text, size, bold=True) + size * 0.9


def _patterns(palette: Palette, body: Sequence[str]) -> Iterator[str]:
    """The patterns that a drawing uses: bars for what is over, dots for what is lost."""
    size = 'width="5" height="5" patternUnits="userSpaceOnUse"'
    ground = f'<rect width="5" height="5" fill="{palette.on_ink}"/>'
    if any(HATCH in element for element in body):
        bars = f'<rect width="2.2" height="5" fill="{palette.ink}"/>'
        yield f'<defs><pattern id="over" {size} patternTransform="rotate(45)">{ground}{bars}</pattern></defs>'
    if any(DOTS in element for element in body):
        dot = f'<circle cx="2.5" cy="2.5" r="1.1" fill="{palette.ink}"/>'
        yield f'<defs><pattern id="lost" {size} patternTransform="rotate(45)">{ground}{dot}</pattern></defs>'


def _element(tag: str, attributes: Mapping[str, str | float | None], text: str | None = None) -> str:
    head = " ".join([tag, *(_attribute(name, value) for name, value in attributes.items() if value is not None)])
    return f"<{head}/>" if text is None else f"<{head}>{escape(text)}</{tag}>"


@lru_cache(maxsize=4096)
def _attribute(name: str, value: str | float) -> str:
    """An attribute as it is written; a drawing has the same colours, fonts and widths hundreds of times."""
    shown = value if isinstance(value, str) else number(value)
    return f"{name.rstrip('_').replace('_', '-')}={quoteattr(clean(shown))}"
