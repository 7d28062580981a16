"""``rebalance``: the least to move, drop or drain so that every limit is kept."""

from steelyard.questions.rebalance.handy import place_digits
from steelyard.questions.rebalance.question import REBALANCE, RebalanceAnswer
from steelyard.questions.rebalance.reason import not_judged, rebalance_reason
from steelyard.questions.rebalance.search import Freedom, Rebalanced, Rebalancing, Status

__all__ = [
    "REBALANCE",
    "Freedom",
    "RebalanceAnswer",
    "Rebalanced",
    "Rebalancing",
    "Status",
    "not_judged",
    "place_digits",
    "rebalance_reason",
]
