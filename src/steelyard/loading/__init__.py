"""Loading: the operator asked backwards. What if, where, how much, what to change.

Owns scenarios and the searches over them. Judges by ``conformity``; words and ids are ``findings``'. Read ``findings``
next.
"""

from steelyard.loading.floor import Outline, floor_of, reach, refuse_off_vehicle
from steelyard.loading.floor_pieces import convex_pieces, floor_sides
from steelyard.loading.largest_trailer import Corner, LargestTrailer, largest_trailer
from steelyard.loading.limits import Limits, TowLimits, together, without
from steelyard.loading.load_map import Item, LoadMap, load_map
from steelyard.loading.moves import Adjustable, Aim, Movable, Proposal, RebalanceStep
from steelyard.loading.rebalance import nearest, propose
from steelyard.loading.room import Predicted, predicted
from steelyard.loading.scenario import (
    LEAST_MASS,
    MOST_COUPLE,
    Hitching,
    Scenario,
    ScenarioError,
    applied,
    changes_nothing,
    sometimes_aboard,
)
from steelyard.loading.two_days import DayNames, TwoDays, renamed, two_days

__all__ = [
    "LEAST_MASS",
    "MOST_COUPLE",
    "Adjustable",
    "Aim",
    "Corner",
    "DayNames",
    "Hitching",
    "Item",
    "LargestTrailer",
    "Limits",
    "LoadMap",
    "Movable",
    "Outline",
    "Predicted",
    "Proposal",
    "RebalanceStep",
    "Scenario",
    "ScenarioError",
    "TowLimits",
    "TwoDays",
    "applied",
    "changes_nothing",
    "convex_pieces",
    "floor_of",
    "floor_sides",
    "largest_trailer",
    "load_map",
    "nearest",
    "predicted",
    "propose",
    "reach",
    "refuse_off_vehicle",
    "renamed",
    "sometimes_aboard",
    "together",
    "two_days",
    "without",
]
