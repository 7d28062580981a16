"""``distribute``: what weight distribution does, and the setting for a wanted part."""

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
