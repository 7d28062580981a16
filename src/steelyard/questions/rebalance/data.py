"""An answer to 'what must change' as data: the published shape, in the day's units."""

from __future__ import annotations

from typing import Any

from steelyard.model import WeighDay
from steelyard.questions.findings import findings_data
from steelyard.questions.rebalance.reason import rebalance_reason
from steelyard.questions.rebalance.search import Rebalanced
from steelyard.units import Dimension, at_most


def rebalance_to_data(least: Rebalanced, fewest: Rebalanced, *, day: WeighDay, file: str, state: str) -> dict[str, Any]:
    """Both answers, ready for JSON: that of the least mass, and under ``fewest_items`` the other.

    Parameters
    ----------
    file: the name to print.
    """
    return {**_data(least, day, file, state), "fewest_items": _data(fewest, day, file, state)}


def _data(answer: Rebalanced, day: WeighDay, file: str, state: str) -> dict[str, Any]:
    """The published shape of one answer, in the day's units."""
    units = day.units
    actions: list[dict[str, Any]] = []
    for step in answer.proposal.steps if answer.proposal is not None else ():
        action = "move" if step.to is not None else "drain" if step.drained else "remove"
        to = None
        if step.to is not None:
            x, y = (round(units.show(place, Dimension.LENGTH), 6) + 0.0 for place in step.to)
            to = {"x": x, "y": y}
        mass = round(units.show(step.mass, Dimension.MASS), 6)
        level = None if step.id not in answer.levels else at_most(100.0 * answer.levels[step.id], 8)
        actions.append({"cargo": step.id, "action": action, "mass": mass, "to": to, "level": level})
    shown = findings_data(answer.findings, file=file) if answer.findings is not None else {}
    return {
        "status": answer.status.value,
        "contested": bool(answer.contested),
        "moved_mass": round(units.show(answer.moved, Dimension.MASS), 6) if answer.proposal is not None else None,
        "actions": actions,
        "settings": _settings(answer, day),
        "findings": shown.get("findings", []),
        "verdicts": shown.get("verdicts", []),
        "reason": rebalance_reason(day, state, answer),
    }


def _settings(answer: Rebalanced, day: WeighDay) -> list[dict[str, Any]]:
    """What is set rather than lifted: a couple (to a value), a coupling (by a shift rearward)."""
    found: list[dict[str, Any]] = []
    for name, value in answer.settings.items():
        kind, trailer = name.split("/", 1)
        dimension = Dimension.COUPLE if kind == "couple" else Dimension.LENGTH
        shown = round(day.units.show(value, dimension), 6) + 0.0
        found.append({"trailer": trailer, "setting": kind, "value": shown, "unit": day.units.symbol(dimension)})
    return found
