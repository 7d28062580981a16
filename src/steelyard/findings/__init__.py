"""Findings: the one call that every face shares, from a weigh day to findings, verdicts, consistency and cautions.

Owns finding ids, labels and the published JSON shape. Draws nothing. Read ``report`` next.
"""

from steelyard.findings.cautions import STANDING
from steelyard.findings.data import errors_to_data, schema, to_data
from steelyard.findings.distribution import (
    Compared,
    DistributionAnswer,
    distribute,
    distributed,
    distribution_to_data,
)
from steelyard.findings.distribution import Setting as DistributionSetting
from steelyard.findings.influence import Influences, influence, influence_to_data
from steelyard.findings.ledger import Account, Item, Kind, Ledger, Source, ledger, ledger_to_data
from steelyard.findings.limits import limits_of, predict_many
from steelyard.findings.plan import DayPlan, Expected, More, plan
from steelyard.findings.plan_data import plan_to_data
from steelyard.findings.plan_steps import Action, Step
from steelyard.findings.raised import RAISING, Stopping, key_to_paste, raised_words
from steelyard.findings.rebalance import Freedom, Rebalanced, Rebalancing, Status, place_digits
from steelyard.findings.result import Answer, Basis, Finding, Findings, TradeOff
from steelyard.findings.site import Ground, Largest, SiteAnswer, Touched, site, site_to_data
from steelyard.findings.site_words import Matter
from steelyard.findings.survey import Survey, survey
from steelyard.findings.sweep import Learned, SweepAnswer, learn, learned_id
from steelyard.findings.sweep_data import lesson, sweep_schema, sweep_to_data, taught
from steelyard.findings.sweep_sums import ADDED
from steelyard.findings.towing import tow_limits, towing_vehicle
from steelyard.findings.trailer import Given, Moved, TrailerAnswer, how_much_trailer, trailer_to_data
from steelyard.findings.weigh import Weighed, solve, weigh
from steelyard.findings.wishes import WishError

__all__ = [
    "ADDED",
    "RAISING",
    "STANDING",
    "Account",
    "Action",
    "Answer",
    "Basis",
    "Compared",
    "DayPlan",
    "DistributionAnswer",
    "DistributionSetting",
    "Expected",
    "Finding",
    "Findings",
    "Freedom",
    "Given",
    "Ground",
    "Influences",
    "Item",
    "Kind",
    "Largest",
    "Learned",
    "Ledger",
    "Matter",
    "More",
    "Moved",
    "Rebalanced",
    "Rebalancing",
    "SiteAnswer",
    "Source",
    "Status",
    "Step",
    "Stopping",
    "Survey",
    "SweepAnswer",
    "Touched",
    "TradeOff",
    "TrailerAnswer",
    "Weighed",
    "WishError",
    "distribute",
    "distributed",
    "distribution_to_data",
    "errors_to_data",
    "how_much_trailer",
    "influence",
    "influence_to_data",
    "key_to_paste",
    "learn",
    "learned_id",
    "ledger",
    "ledger_to_data",
    "lesson",
    "limits_of",
    "place_digits",
    "plan",
    "plan_to_data",
    "predict_many",
    "raised_words",
    "schema",
    "site",
    "site_to_data",
    "solve",
    "survey",
    "sweep_schema",
    "sweep_to_data",
    "taught",
    "to_data",
    "tow_limits",
    "towing_vehicle",
    "trailer_to_data",
    "weigh",
]
