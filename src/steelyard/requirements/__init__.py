"""Requirements: limits on findings. Ratings off the labels, rules of the road that were chosen, rules of thumb.

Owns which limits apply to which finding and where they come from. Judges nothing (``conformity`` does). The rule sets
themselves are data, in ``rules``. Read ``findings`` next.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from steelyard.listing import named_later
from steelyard.requirements.practice import Practice, Restoration, Window, practice
from steelyard.requirements.ratings import LABEL, states_alone, steering_changes
from steelyard.requirements.restoration import Restored, matched, restorations
from steelyard.requirements.together import requirements_of

if TYPE_CHECKING:
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

_LATER = {
    "road": (
        "NOT_LEGAL_ADVICE",
        "ON_PAPER",
        "Ahead",
        "Paper",
        "RoadAxle",
        "RoadUnit",
        "Ruling",
        "Train",
        "coupling_force",
        "is_old",
        "judged_on",
        "old_words",
        "on_trailer",
        "paper_steps",
        "paper_trailer",
        "road_requirements",
        "rule_cautions",
        "rulings",
        "today",
    ),
}
"""Names that are loaded with their folder when they are first asked for: most days choose no rules of the road."""


def __getattr__(name: str) -> object:
    """A name of ``_LATER``.

    Raises
    ------
    AttributeError: there is no such name.
    """
    return named_later(name, _LATER, globals(), lambda file: import_module(f"steelyard.requirements.{file}"))
