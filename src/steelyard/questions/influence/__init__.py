"""How a state answers to loads: coefficients with their joint doubt, and where its rig stands."""

from steelyard.questions.influence.question import INFLUENCE
from steelyard.questions.influence.rows import Influences, influence

__all__ = ["INFLUENCE", "Influences", "influence"]
