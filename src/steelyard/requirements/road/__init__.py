"""Rules of the road that were chosen for a weigh day, as limits on its findings and as comparisons of its papers.

Begin at ``ruling.py`` (the answers of a rule), then ``train.py`` (the vehicles that it is asked of).
"""

from __future__ import annotations

from steelyard.conformity import Requirement
from steelyard.model import WeighDay
from steelyard.requirements.road.forms import FORMS
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.requirements.road.train import RoadAxle, RoadUnit, Train

__all__ = ["FORMS", "AskedRule", "Paper", "RoadAxle", "RoadUnit", "Ruling", "Train", "road_requirements", "rulings"]


def rulings(day: WeighDay, only: str | None = None) -> tuple[Ruling, ...]:
    """The rulings of every chosen rule on every state, or on the state ``only``, in file order of states, then sets."""
    found: list[Ruling] = []
    for state in day.states.values():
        if only is not None and state.id != only:
            continue
        train = Train(day, state)
        for rule_set in day.rules.sets:
            for rule in rule_set.in_force(from_memory=day.rules.from_memory):
                found.extend(FORMS[rule.form](AskedRule(train, rule_set, rule)))
    return tuple(found)


def road_requirements(day: WeighDay, only: str | None = None) -> tuple[Requirement, ...]:
    """The limits on findings among them."""
    return tuple(ruling.requirement for ruling in rulings(day, only) if ruling.requirement is not None)
