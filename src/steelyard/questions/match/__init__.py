"""``match``: every towing vehicle of a day against every trailer, hitched on paper."""

from steelyard.questions.match.across import pairs_of
from steelyard.questions.match.pairs import Pair, WorkingShares
from steelyard.questions.match.question import MATCH, MatchAnswer, MatchQuestion

__all__ = ["MATCH", "MatchAnswer", "MatchQuestion", "Pair", "WorkingShares", "pairs_of"]
