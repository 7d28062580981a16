"""Statics: the operator that takes loads and supports to wheel and coupling loads, and its influences.

Owns bodies, springs, joints, lifting, and what is assumed of them. Works in SI arrays made from ``model``; knows no
reading. Read ``adjustment`` next.
"""

from steelyard.statics.body import Array, Body, BodyLayout, Springs, springs_of
from steelyard.statics.combination import (
    Change,
    Combination,
    Joint,
    Lift,
    Response,
    TipsOverError,
    mass_at,
    next_lift,
)
from steelyard.statics.defaults import FRICTION, TAPE, Rate, ride_rate, roll_rate, tie_rate

__all__ = [
    "FRICTION",
    "TAPE",
    "Array",
    "Body",
    "BodyLayout",
    "Change",
    "Combination",
    "Joint",
    "Lift",
    "Rate",
    "Response",
    "Springs",
    "TipsOverError",
    "mass_at",
    "next_lift",
    "ride_rate",
    "roll_rate",
    "springs_of",
    "tie_rate",
]
