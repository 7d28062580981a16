"""Rules: requirements as data. The ratings off the labels, and rules of thumb.

Owns which limits apply to which finding and where they come from. Judges nothing (``conformity`` does). Read
``findings`` next.
"""

from steelyard.rules.practice import Practice, Restoration, Window, practice
from steelyard.rules.requirements import requirements_of, states_alone, steering_changes
from steelyard.rules.restoration import Restored, matched, restorations

__all__ = [
    "Practice",
    "Restoration",
    "Restored",
    "Window",
    "matched",
    "practice",
    "requirements_of",
    "restorations",
    "states_alone",
    "steering_changes",
]
