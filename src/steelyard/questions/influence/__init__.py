"""``influence``: how a state answers to loads: coefficients with their joint doubt."""

from steelyard.questions.influence.question import INFLUENCE
from steelyard.questions.influence.rows import Influences, influence

__all__ = ["INFLUENCE", "Influences", "influence"]
