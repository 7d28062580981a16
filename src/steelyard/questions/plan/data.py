"""A plan as data, in the units of the file."""

from __future__ import annotations

from typing import Any

from steelyard.planning import SearchStatus
from steelyard.questions.plan.planned import DayPlan, Expected, More
from steelyard.units import Dimension, UnitSystem


def plan_to_data(plan: DayPlan, *, file: str) -> dict[str, Any]:
    """The plan in the shape that ``steelyard plan --json`` prints. Half-widths are of 95 % intervals."""
    units, outcome = plan.day.units, plan.outcome
    return {
        "format": 1,
        "file": file,
        "units": {"mass": units.mass, "length": units.length},
        "status": outcome.status.value,
        "cost": round(outcome.cost, 6) if outcome.found else None,
        "bound": None if outcome.status is SearchStatus.IMPOSSIBLE else round(outcome.bound, 6),
        "out_of_time": outcome.out_of_time,
        "left_out": list(plan.left_out),
        "drafts": [
            {
                "state": offer.state,
                "placements": dict(offer.placements),
                "blocks": [str(wheel) for wheel in offer.blocks],
                "unsupported": "ground" if offer.on_ground else None,
                "placement": draft.placement,
            }
            for offer, draft in zip(plan.offers, plan.drafts, strict=True)
        ],
        "expected": [_expected(item, units) for item in plan.expected],
        "best_possible": [_best(item, units) for item in plan.expected],
        "steps": [
            {"draft": step.draft, "action": step.action.value, "text": step.text, "cost": round(step.cost, 6)}
            for step in plan.steps
        ],
        "what_more": [_more(item, plan) for item in plan.more],
        "contested": any(item.contested for item in plan.expected),
        "assumed_loads": plan.assumed,
        "cautions": list(plan.cautions),
    }


def _shown(value: float | None, dimension: Dimension, units: UnitSystem) -> float | None:
    return None if value is None else round(units.show(value, dimension), 6)


def _expected(item: Expected, units: UnitSystem) -> dict[str, Any]:
    return {
        "id": item.id,
        "unit": units.symbol(item.dimension),
        "wanted": _shown(item.bound, item.dimension, units),
        "now": _shown(item.now, item.dimension, units),
        "half_width": [_shown(half, item.dimension, units) for half in item.half_widths],
        "met": item.met,
        "contested": item.contested,
        "needs": [{"state": need.state, "places": list(need.places)} for need in item.needs],
        "why": None
        if item.why is None
        else [{"place": place, "change": round(amount, 6)} for place, amount in item.why.loads],
    }


def _best(item: Expected, units: UnitSystem) -> dict[str, Any]:
    return {
        "id": item.id,
        "half_width": _shown(item.best, item.dimension, units),
        "limited_by": [{"what": what, "share": round(100.0 * share, 1)} for what, share in item.limits],
    }


def _more(item: More, plan: DayPlan) -> dict[str, Any]:
    dimensions = {one.id: one.dimension for one in plan.expected}
    return {
        "what": item.what,
        "status": item.status.value,
        "cost": None if item.cost is None else round(item.cost, 6),
        "drafts": item.drafts,
        "half_width": [
            {"id": name, "half_width": _shown(half, dimensions[name], plan.day.units)}
            for name, half in item.half_widths
        ],
    }
