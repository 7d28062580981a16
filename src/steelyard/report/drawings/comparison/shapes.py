"""The shapes of a picture that is shown or printed far smaller than it was drawn, and how small its letters may be."""

from __future__ import annotations

from dataclasses import dataclass

SMALLEST = 1.0 / 36.0
"""Height of the smallest letters, as a share of the shorter side: 30 px of 1080, so 7.5 px at a quarter of the size."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A sheet: width and height in its own units, and the pixels of its shorter side."""

    width: float
    height: float
    pixels: int

    @property
    def smallest(self) -> float:
        """Height of the smallest letters, in the units of the sheet."""
        return SMALLEST * min(self.width, self.height)

    @property
    def wide_px(self) -> int:
        """Pixels across."""
        return round(self.pixels * self.width / min(self.width, self.height))


SHAPES = {
    "16:9": Shape(1600.0, 900.0, 1080),
    "1:1": Shape(1200.0, 1200.0, 1080),
    "9:16": Shape(900.0, 1600.0, 1080),
    "A4": Shape(1050.0, 1485.0, 1654),
    "Letter": Shape(1020.0, 1320.0, 1700),
}
"""By the name that a person gives; paper stands upright, at 200 dots per inch."""
