"""``plan``: which drafts to take next with the pads at hand."""

from steelyard.questions.plan.planned import DayPlan, Expected, More, plan
from steelyard.questions.plan.question import PLAN, PlanQuestion, planned
from steelyard.questions.plan.steps import Action
from steelyard.questions.plan.wishes import WishError

__all__ = ["PLAN", "Action", "DayPlan", "Expected", "More", "PlanQuestion", "WishError", "plan", "planned"]
