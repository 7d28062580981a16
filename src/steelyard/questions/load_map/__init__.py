"""``loadmap``: how much more each place of a load floor can take."""

from steelyard.questions.load_map.contours import Point, framed, loops, stretches
from steelyard.questions.load_map.published import LoadMapAnswer
from steelyard.questions.load_map.question import LOAD_MAP
from steelyard.questions.load_map.ramp import lightness, scale_colour
from steelyard.questions.load_map.regions import borders, filled, in_order, most_framed, round_levels, widest

__all__ = [
    "LOAD_MAP",
    "LoadMapAnswer",
    "Point",
    "borders",
    "filled",
    "framed",
    "in_order",
    "lightness",
    "loops",
    "most_framed",
    "round_levels",
    "scale_colour",
    "stretches",
    "widest",
]
