"""Requirements: limits on findings. Ratings off the labels, rules of the road that were chosen, rules of thumb.

Owns which limits apply to which finding and where they come from. Judges nothing (``conformity`` does). The rule sets
themselves are data, in ``rules``. Read ``findings`` next.
"""

from steelyard.requirements.practice import Practice, Restoration, Window, practice
from steelyard.requirements.ratings import LABEL, states_alone, steering_changes
from steelyard.requirements.restoration import Restored, matched, restorations
from steelyard.requirements.road import (
    NOT_LEGAL_ADVICE,
    ON_PAPER,
    Ahead,
    Paper,
    RoadAxle,
    RoadUnit,
    Ruling,
    Train,
    coupling_force,
    is_old,
    judged_on,
    old_words,
    on_trailer,
    paper_steps,
    paper_trailer,
    road_requirements,
    rule_cautions,
    rulings,
    today,
)
from steelyard.requirements.together import requirements_of

__all__ = [
    "LABEL",
    "NOT_LEGAL_ADVICE",
    "ON_PAPER",
    "Ahead",
    "Paper",
    "Practice",
    "Restoration",
    "Restored",
    "RoadAxle",
    "RoadUnit",
    "Ruling",
    "Train",
    "Window",
    "coupling_force",
    "is_old",
    "judged_on",
    "matched",
    "old_words",
    "on_trailer",
    "paper_steps",
    "paper_trailer",
    "practice",
    "requirements_of",
    "restorations",
    "road_requirements",
    "rule_cautions",
    "rulings",
    "states_alone",
    "steering_changes",
    "today",
]
