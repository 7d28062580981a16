"""Findings: the one call that every face shares, from a weigh day to findings, verdicts, consistency and cautions.

Owns finding ids, labels and the published JSON shape. Draws nothing. Read ``report`` next.
"""

from steelyard.findings.cautions import STANDING
from steelyard.findings.data import errors_to_data, schema, to_data
from steelyard.findings.limits import limits_of, predict_many
from steelyard.findings.plan import DayPlan, Expected, More, plan
from steelyard.findings.plan_data import plan_to_data
from steelyard.findings.plan_steps import Action, Step
from steelyard.findings.rebalance import Freedom, Rebalanced, Rebalancing, Status
from steelyard.findings.result import Basis, Finding, Findings, TradeOff
from steelyard.findings.survey import Survey, survey
from steelyard.findings.towing import tow_limits, towing_vehicle
from steelyard.findings.trailer import Given, Moved, TrailerAnswer, how_much_trailer, trailer_to_data
from steelyard.findings.weigh import Weighed, solve, weigh
from steelyard.findings.wishes import WishError

__all__ = [
    "STANDING",
    "Action",
    "Basis",
    "DayPlan",
    "Expected",
    "Finding",
    "Findings",
    "Freedom",
    "Given",
    "More",
    "Moved",
    "Rebalanced",
    "Rebalancing",
    "Status",
    "Step",
    "Survey",
    "TradeOff",
    "TrailerAnswer",
    "Weighed",
    "WishError",
    "errors_to_data",
    "how_much_trailer",
    "limits_of",
    "plan",
    "plan_to_data",
    "predict_many",
    "schema",
    "solve",
    "survey",
    "to_data",
    "tow_limits",
    "towing_vehicle",
    "trailer_to_data",
    "weigh",
]
