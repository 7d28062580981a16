"""Loading: the operator asked backwards. What if, where, how much, what to change.

Owns scenarios and the searches over them. Judges by ``conformity``; words and ids are ``findings``'. Read ``findings``
next.
"""

from steelyard.loading.limits import Limits
from steelyard.loading.scenario import Hitching, Scenario, ScenarioError, applied

__all__ = ["Hitching", "Limits", "Scenario", "ScenarioError", "applied"]
