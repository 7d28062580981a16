"""Every requirement of a weigh day: what the labels say, and the rules of the road that were chosen."""

from __future__ import annotations

from steelyard.conformity import Requirement
from steelyard.model import WeighDay
from steelyard.requirements.ratings import ratings_of


def requirements_of(day: WeighDay, only: str | None = None) -> tuple[Requirement, ...]:
    """Every requirement of the day or of the state ``only``: ratings and rules of thumb first, then chosen rules."""
    found = ratings_of(day, only)
    if not day.rules.sets:
        return found
    from steelyard.requirements.road import road_requirements  # with all forms of rules, which few days choose

    return (*found, *road_requirements(day, only))
