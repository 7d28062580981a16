"""What weight distribution does in a state, and the couple that would restore a part of the front axle load."""

from steelyard.questions.distribution.compared import Compared, DistributionAnswer, Setting, distribute, distributed
from steelyard.questions.distribution.question import DISTRIBUTION, DistributionQuestion

__all__ = [
    "DISTRIBUTION",
    "Compared",
    "DistributionAnswer",
    "DistributionQuestion",
    "Setting",
    "distribute",
    "distributed",
]
