"""Adjustment: all readings together by least squares, with every reading's doubt carried along.

Owns observations, estimates, covariance, consistency and determinacy. Loads come from ``statics``. Read
``conformity`` next.
"""

from steelyard.adjustment.adjust import Adjustment, adjust, prospect
from steelyard.adjustment.consistency import Consistency, Suspect
from steelyard.adjustment.extend import extend
from steelyard.adjustment.gravity import normal_gravity
from steelyard.adjustment.increments import StanceLoads
from steelyard.adjustment.information import (
    Knowledge,
    drawn_to_readings,
    expected_elsewhere,
    expected_loads,
    knowledge_of,
)
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
    "Adjustment",
    "Blocks",
    "Consistency",
    "Estimates",
    "Knowledge",
    "Linear",
    "Propagation",
    "Solution",
    "StanceLoads",
    "Suspect",
    "adjust",
    "combined",
    "drawn_to_readings",
    "expected_elsewhere",
    "expected_loads",
    "extend",
    "fieller",
    "knowledge_of",
    "normal_gravity",
    "open_directions",
    "prospect",
    "solve",
    "student_probability",
    "student_quantile",
]
