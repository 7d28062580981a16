"""Findings: the one call that every face shares, from a weigh day to findings, verdicts, consistency and cautions.

Owns finding ids, labels and the published JSON shape. Draws nothing. Read ``report`` next.
"""

from steelyard.findings.cautions import STANDING
from steelyard.findings.data import errors_to_data, schema, to_data
from steelyard.findings.limits import limits_of, predict_many
from steelyard.findings.raised import RAISING, Stopping, key_to_paste, raised_words
from steelyard.findings.rebalance import Freedom, Rebalanced, Rebalancing, Status
from steelyard.findings.result import Basis, Finding, Findings
from steelyard.findings.site import Ground, Largest, SiteAnswer, Touched, site, site_to_data
from steelyard.findings.site_words import Matter
from steelyard.findings.survey import Survey, survey
from steelyard.findings.towing import tow_limits, towing_vehicle
from steelyard.findings.trailer import Given, Moved, TrailerAnswer, how_much_trailer, trailer_to_data
from steelyard.findings.weigh import Weighed, solve, weigh

__all__ = [
    "RAISING",
    "STANDING",
    "Basis",
    "Finding",
    "Findings",
    "Freedom",
    "Given",
    "Ground",
    "Largest",
    "Matter",
    "Moved",
    "Rebalanced",
    "Rebalancing",
    "SiteAnswer",
    "Status",
    "Stopping",
    "Survey",
    "Touched",
    "TrailerAnswer",
    "Weighed",
    "errors_to_data",
    "how_much_trailer",
    "key_to_paste",
    "limits_of",
    "predict_many",
    "raised_words",
    "schema",
    "site",
    "site_to_data",
    "solve",
    "survey",
    "to_data",
    "tow_limits",
    "towing_vehicle",
    "trailer_to_data",
    "weigh",
]
