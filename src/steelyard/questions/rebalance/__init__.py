"""The least to move, drop or drain so that every limit is kept."""

from steelyard.questions.rebalance.data import rebalance_to_data
from steelyard.questions.rebalance.reason import not_judged, rebalance_reason
from steelyard.questions.rebalance.search import Freedom, Rebalanced, Rebalancing, Status, place_digits

__all__ = [
    "Freedom",
    "Rebalanced",
    "Rebalancing",
    "Status",
    "not_judged",
    "place_digits",
    "rebalance_reason",
    "rebalance_to_data",
]
