"""Reads a drawing back: where its words and tyres lie."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass

from steelyard.report.drawings.sheet.type import text_width

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Box:
    """A rectangle on the sheet, and what it is."""

    name: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box, *, slack: float = 0.5) -> bool:
        """Whether two boxes share more than a sliver."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return wide > slack and high > slack

    @property
    def middle(self) -> tuple[float, float]:
        """Its centre."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2


def root_of(svg: str) -> ET.Element:
    """The parsed drawing."""
    return ET.fromstring(svg)


def texts(root: ET.Element) -> list[Box]:
    """Every text: from the height of a figure above its baseline to the depth of a comma below."""
    boxes: list[Box] = []
    for node in root.iter(f"{SVG}text"):
        size, x, y = (float(node.attrib[name]) for name in ("font-size", "x", "y"))
        text = node.text or ""
        wide = text_width(text, size, bold=node.get("font-weight") == "700")
        left = {"middle": x - wide / 2, "end": x - wide}.get(node.get("text-anchor", ""), x)
        boxes.append(Box(text, left, y - 0.74 * size, left + wide, y + 0.16 * size))
    return boxes


def _rect(node: ET.Element, name: str) -> Box:
    x, y, wide, high = (float(node.get(key, "0")) for key in ("x", "y", "width", "height"))
    return Box(name, x, y, x + wide, y + high)


def tyres(root: ET.Element) -> dict[str, list[Box]]:
    """The tyres by their place, ``tow/1L``."""
    groups = (node for node in root.iter(f"{SVG}g") if node.get("class") == "wheel")
    return {
        node.attrib["data-place"]: [_rect(rect, node.attrib["data-place"]) for rect in node.iter(f"{SVG}rect")]
        for node in groups
    }


def attributes(root: ET.Element, name: str) -> Iterator[str]:
    """All values of an attribute in the drawing."""
    return (node.attrib[name] for node in root.iter() if name in node.attrib)
