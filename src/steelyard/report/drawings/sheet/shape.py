"""The shapes of a picture that is shown or printed far smaller than it was drawn, and how small its letters may be."""

from __future__ import annotations

from dataclasses import dataclass

from steelyard.names import meant

SMALLEST_PX = 30.0
"""Height of the smallest letters in pixels of the written picture: 7.5 px at a quarter of the size."""

_PAPER = 1.0 / 36.0
"""The same on paper, as a share of the shorter side."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A sheet: width and height in its own units, and the pixels of its shorter side."""

    width: float
    height: float
    pixels: int

    @property
    def smallest(self) -> float:
        """Height of the smallest letters of a chart, in the units of the sheet."""
        return _PAPER * min(self.width, self.height)

    @property
    def wide_px(self) -> int:
        """Pixels across."""
        return round(self.pixels * self.width / min(self.width, self.height))

    def sheet(self, letters: float) -> tuple[float, float]:
        """Width and height in units in which letters of the height ``letters`` are the smallest that can be read."""
        unit = letters * self.pixels / SMALLEST_PX / min(self.width, self.height)
        return self.width * unit, self.height * unit


SHAPES = {
    "16:9": Shape(1600.0, 900.0, 1080),
    "1:1": Shape(1200.0, 1200.0, 1080),
    "9:16": Shape(900.0, 1600.0, 1080),
    "A4": Shape(1050.0, 1485.0, 1654),
    "Letter": Shape(1020.0, 1320.0, 1700),
}
"""By the name that a person gives; paper stands upright, at 200 dots per inch."""


def shape_of(name: str) -> Shape:
    """The shape of a name.

    Raises
    ------
    ValueError: there is no such shape; the nearest is named.
    """
    if name not in SHAPES:
        raise ValueError(f"{name!r} is not a shape; {meant(name, list(SHAPES), 'there are')}")
    return SHAPES[name]
