"""Planning: which drafts to take next, judged from the equations before any reading.

Owns the search for drafts. Read ``adjustment`` below it for determinacy.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from steelyard.listing import named_later
from steelyard.planning.needs import Need, Needs

if TYPE_CHECKING:
    from steelyard.planning.clock import Clock, Now, OutOfTime
    from steelyard.planning.course import Course
    from steelyard.planning.expected import expected_of
    from steelyard.planning.handling import Deed, Fact, Handling, ThingMoved, placings_of
    from steelyard.planning.kit import Costs, Kit, PlanError, kit_of
    from steelyard.planning.offers import Offer, Placing, drafts_of
    from steelyard.planning.orders import walk
    from steelyard.planning.planner import Planner, PlanningQuestion
    from steelyard.planning.problem import Plan, PlanningProblem, Prices
    from steelyard.planning.search import LONGEST, Criterion, FoundPlan, Progress, SearchStatus, best_of_size, cheapest

__all__ = [
    "LONGEST",
    "Clock",
    "Costs",
    "Course",
    "Criterion",
    "Deed",
    "Fact",
    "FoundPlan",
    "Handling",
    "Kit",
    "Need",
    "Needs",
    "Now",
    "Offer",
    "OutOfTime",
    "Placing",
    "Plan",
    "PlanError",
    "Planner",
    "PlanningProblem",
    "PlanningQuestion",
    "Prices",
    "Progress",
    "SearchStatus",
    "ThingMoved",
    "best_of_size",
    "cheapest",
    "drafts_of",
    "expected_of",
    "kit_of",
    "placings_of",
    "walk",
]

_LATER = {
    "clock": ("Clock", "Now", "OutOfTime"),
    "course": ("Course",),
    "expected": ("expected_of",),
    "handling": ("Deed", "Fact", "Handling", "ThingMoved", "placings_of"),
    "kit": ("Costs", "Kit", "PlanError", "kit_of"),
    "offers": ("Offer", "Placing", "drafts_of"),
    "orders": ("walk",),
    "planner": ("Planner", "PlanningQuestion"),
    "problem": ("Plan", "PlanningProblem", "Prices"),
    "search": ("LONGEST", "Criterion", "FoundPlan", "Progress", "SearchStatus", "best_of_size", "cheapest"),
}
"""Names that are loaded with their file when they are first asked for: few who weigh a day need them."""


def __getattr__(name: str) -> object:
    """A name of ``_LATER``.

    Raises
    ------
    AttributeError: there is no such name.
    """
    return named_later(name, _LATER, globals(), lambda file: import_module(f"steelyard.planning.{file}"))
