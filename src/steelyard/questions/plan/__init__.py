"""Which drafts to take next, and where each pad goes, so that every wanted finding is known well enough."""

from steelyard.questions.plan.planned import DayPlan, Expected, More, plan
from steelyard.questions.plan.question import PLAN, PlanQuestion, planned
from steelyard.questions.plan.steps import Action
from steelyard.questions.plan.wishes import WishError

__all__ = ["PLAN", "Action", "DayPlan", "Expected", "More", "PlanQuestion", "WishError", "plan", "planned"]
