"""Words about many days: what a group of cases is of, and figures of a population to the place of their doubt."""

from __future__ import annotations

from steelyard.batch.population import PopulationFigure
from steelyard.batch.summary import ROOM, GroupKey
from steelyard.model import Measurand
from steelyard.report.words.names import words
from steelyard.units import format_number, round_to_uncertainty

_ROLES = {"towing": "towing vehicle", "towed": "towed vehicle", "alone": "vehicle alone"}
_BETWEEN = frozenset({"load", "share", "couple", "restored", "d", "dc"})
"""Kinds of quantities of a coupling."""


def group_words(key: GroupKey) -> str:
    """A group in words, without its states: ``towed vehicle: share on its left side``, ``room to the GCWR``."""
    role = _ROLES.get(key.role, "")
    owner = role or ("coupling" if key.quantity in _BETWEEN else "combination")
    if key.quantity == ROOM:
        told = f"room to the {key.place}"
    else:
        told = words(Measurand(owner, key.quantity, key.place).at("state")).removeprefix(f"{owner} ")
    return f"{owner}: {told}" if role or key.quantity != ROOM else told


def state_words(key: GroupKey) -> str:
    """The state of a group: ``hitched``, ``solo to hitched``, or ``any state``."""
    if not key.state:
        return "any state"
    return f"{key.since} to {key.state}" if key.since else key.state


def told_words(told: PopulationFigure) -> tuple[str, str, str]:
    """A figure and the ends of its interval, each to the place of the second figure of half the interval."""
    _, _, places = round_to_uncertainty(told.value, (told.high - told.low) / 2.0)
    return (
        format_number(told.value, places),
        format_number(told.low, places),
        format_number(told.high, places),
    )


def doubt_words(doubt: float) -> str:
    """A standard uncertainty to two figures."""
    _, shown, places = round_to_uncertainty(0.0, doubt)
    return format_number(shown, places)
