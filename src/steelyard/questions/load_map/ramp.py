"""A ramp of colours for amounts: dark to light, even to the eye, told apart in grey and by every kind of sight.

From ink blue over slate to pale brass: hue runs from blue to yellow only, which protan and deutan sight keep, and
lightness rises evenly. Colours are mixed in Oklab (Ottosson, A perceptual color space for image processing, 2020).
"""

from __future__ import annotations

import math
from itertools import pairwise

STOPS = ("#1b2a49", "#3d5470", "#6f7f86", "#b09c6b", "#f3dc9a")
"""From nothing to the most."""

Oklab = tuple[float, float, float]


def colour(part: float) -> str:
    """The colour at a place from 0 to 1 along the ramp, as ``#rrggbb``."""
    place = min(max(part, 0.0), 1.0) * (len(STOPS) - 1)
    pairs = list(pairwise(STOPS))
    index = min(int(place), len(pairs) - 1)
    first, second = (_oklab(stop) for stop in pairs[index])
    rest = place - index
    return _hex(tuple(a + rest * (b - a) for a, b in zip(first, second, strict=True)))  # pyright: ignore[reportArgumentType]


def lightness(text: str) -> float:
    """How light a colour ``#rrggbb`` looks, 0 to 1."""
    return _oklab(text)[0]


def _oklab(text: str) -> Oklab:
    red, green, blue = (_linear(int(text[at : at + 2], 16) / 255) for at in (1, 3, 5))
    long = math.cbrt(0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue)
    middle = math.cbrt(0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue)
    short = math.cbrt(0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue)
    return (
        0.2104542553 * long + 0.7936177850 * middle - 0.0040720468 * short,
        1.9779984951 * long - 2.4285922050 * middle + 0.4505937099 * short,
        0.0259040371 * long + 0.7827717662 * middle - 0.8086757660 * short,
    )


def _hex(mixed: Oklab) -> str:
    light, a, b = mixed
    long = (light + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (light - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (light - 0.0894841775 * a - 1.2914855480 * b) ** 3
    parts = (
        4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short,
    )
    return "#" + "".join(f"{round(255 * min(max(_gamma(part), 0.0), 1.0)):02x}" for part in parts)


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def _gamma(value: float) -> float:
    return 12.92 * value if value <= 0.0031308 else 1.055 * max(value, 0.0) ** (1 / 2.4) - 0.055


def scale_colour(levels: tuple[float, ...], place: int) -> str:
    """The colour of the band that begins at one of the levels; a single amount is nothing, or the middle."""
    if len(levels) == 1:
        return colour(0.0 if levels[0] <= 0.0 else 0.5)
    return colour((place + 0.5) / (len(levels) - 1))
