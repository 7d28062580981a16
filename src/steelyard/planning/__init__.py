"""Planning: which drafts to take next, judged from the equations before any reading.

Owns the search for drafts. Read ``adjustment`` below it for determinacy.
"""

from steelyard.planning.clock import Clock, Now, OutOfTime
from steelyard.planning.course import Course, Table
from steelyard.planning.expected import expected_of
from steelyard.planning.handling import Change, Deed, Fact, Handling, placings_of
from steelyard.planning.kit import Costs, Kit, PlanError, kit_of
from steelyard.planning.needs import Need, Needs
from steelyard.planning.offers import Offer, Placing, drafts_of
from steelyard.planning.orders import walk
from steelyard.planning.planner import Planner, Question
from steelyard.planning.problem import Plan, Prices, Problem
from steelyard.planning.search import LONGEST, Criterion, Outcome, Progress, Status, best_of_size, cheapest

__all__ = [
    "LONGEST",
    "Change",
    "Clock",
    "Costs",
    "Course",
    "Criterion",
    "Deed",
    "Fact",
    "Handling",
    "Kit",
    "Need",
    "Needs",
    "Now",
    "Offer",
    "OutOfTime",
    "Outcome",
    "Placing",
    "Plan",
    "PlanError",
    "Planner",
    "Prices",
    "Problem",
    "Progress",
    "Question",
    "Status",
    "Table",
    "best_of_size",
    "cheapest",
    "drafts_of",
    "expected_of",
    "kit_of",
    "placings_of",
    "walk",
]
