"""``loadmap``: how much more each place of a load floor can take."""

from steelyard.questions.load_map.contours import Point, framed, loops, open_stretches
from steelyard.questions.load_map.published import LoadMapAnswer
from steelyard.questions.load_map.question import LOAD_MAP
from steelyard.questions.load_map.ramp import lightness, scale_colour
from steelyard.questions.load_map.regions import ENDLESS, filled, in_order, round_levels, widest

__all__ = [
    "ENDLESS",
    "LOAD_MAP",
    "LoadMapAnswer",
    "Point",
    "filled",
    "framed",
    "in_order",
    "lightness",
    "loops",
    "open_stretches",
    "round_levels",
    "scale_colour",
    "widest",
]
