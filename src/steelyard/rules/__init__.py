"""Rules: requirements as data. The ratings off the labels, rules of the road and rules of thumb.

Owns which limits apply to which finding and where they come from. Judges nothing (``conformity`` does). Read
``findings`` next.
"""

from steelyard.rules.practice import Practice, Window, practice
from steelyard.rules.requirements import coupling_stem, requirements_of, steering_changes

__all__ = ["Practice", "Window", "coupling_stem", "practice", "requirements_of", "steering_changes"]
