"""Planning: which drafts to take next, judged from the equations before any reading.

Owns the search for drafts. Read ``adjustment`` below it for determinacy.
"""

from steelyard.planning.clock import Clock, Now, OutOfTime
from steelyard.planning.course import Course
from steelyard.planning.expected import expected_of
from steelyard.planning.handling import Deed, Fact, Handling, ThingMoved, placings_of
from steelyard.planning.kit import Costs, Kit, PlanError, kit_of
from steelyard.planning.needs import Need, Needs
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
