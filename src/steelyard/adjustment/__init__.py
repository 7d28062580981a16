"""Adjustment: all readings together by least squares, with every reading's doubt carried along.

Owns observations, estimates, covariance, consistency and determinacy. Loads come from ``statics``. Read
``conformity`` next.
"""

from steelyard.adjustment.adjust import Adjustment, adjust, prospect
from steelyard.adjustment.assumed import PAD_SPAN, PLATFORM_SPAN, REPEATABILITY
from steelyard.adjustment.consistency import Consistency, Suspect
from steelyard.adjustment.extend import extend
from steelyard.adjustment.gravity import normal_gravity
from steelyard.adjustment.propagate import (
    COVERAGE,
    Estimates,
    Linear,
    Propagation,
    combined,
    fieller,
    student_probability,
    student_quantile,
)
from steelyard.adjustment.solve import Blocks, Solution, open_directions, solve

__all__ = [
    "COVERAGE",
    "PAD_SPAN",
    "PLATFORM_SPAN",
    "REPEATABILITY",
    "Adjustment",
    "Blocks",
    "Consistency",
    "Estimates",
    "Linear",
    "Propagation",
    "Solution",
    "Suspect",
    "adjust",
    "combined",
    "extend",
    "fieller",
    "normal_gravity",
    "open_directions",
    "prospect",
    "solve",
    "student_probability",
    "student_quantile",
]
