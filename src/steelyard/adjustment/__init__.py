"""Adjustment: all readings together by least squares, with every reading's doubt carried along.

Owns observations, estimates, covariance, consistency and determinacy. Loads come from ``statics``. Read
``conformity`` next.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from steelyard.adjustment.adjust import Adjustment, adjust, prospect
from steelyard.adjustment.alternatives import Alternatives
from steelyard.adjustment.assumed import (
    LATCHED_ROLL,
    PAD_SPAN,
    PLATFORM_SPAN,
    REPEATABILITY,
    coupling_share,
    laden,
    repeatability,
    span_u,
    unevenness,
)
from steelyard.adjustment.budget import DoubtSource, budget
from steelyard.adjustment.cg_height import CentreHeight, Lacking, RaisedFit, centre_heights, line_name, raised_fits
from steelyard.adjustment.extend import extend
from steelyard.adjustment.gravity import gravity_factor, normal_gravity
from steelyard.adjustment.misfit.consistency import SIGNIFICANCE, Consistency, GradualChange, Suspect
from steelyard.adjustment.misfit.explanation import Explanation, Named
from steelyard.adjustment.propagate import (
    Estimates,
    Linear,
    Propagation,
    combined,
    fieller,
    fieller_ends,
)
from steelyard.adjustment.solve import Blocks, Solution, open_directions, solve
from steelyard.adjustment.student import (
    COVERAGE,
    effective_dof,
    excess_of,
    student_probabilities,
    student_probability,
    student_quantile,
)
from steelyard.adjustment.sums import SparseSums
from steelyard.adjustment.system.increments import StanceLoads
from steelyard.adjustment.system.stances import both_ways, decks_of, joints_of
from steelyard.adjustment.system.tilted import Supports
from steelyard.adjustment.system.unknowns import Term
from steelyard.listing import named_later

if TYPE_CHECKING:
    from steelyard.adjustment.ground import Effect, GroundShift, moved_by
    from steelyard.adjustment.information import (
        Knowledge,
        drawn_to_readings,
        expected_elsewhere,
        expected_loads,
        knowledge_of,
    )
    from steelyard.adjustment.several.join import DayPart, JointAdjustment, SharedFunction, SharedUnknowns, Stated
    from steelyard.adjustment.several.same import SharedThings
    from steelyard.adjustment.system.many import GROUNDED, Lifts, ManyLoads

__all__ = [
    "COVERAGE",
    "GROUNDED",
    "LATCHED_ROLL",
    "PAD_SPAN",
    "PLATFORM_SPAN",
    "REPEATABILITY",
    "SIGNIFICANCE",
    "Adjustment",
    "Alternatives",
    "Blocks",
    "CentreHeight",
    "Consistency",
    "DayPart",
    "DoubtSource",
    "Effect",
    "Estimates",
    "Explanation",
    "GradualChange",
    "GroundShift",
    "JointAdjustment",
    "Knowledge",
    "Lacking",
    "Lifts",
    "Linear",
    "ManyLoads",
    "Named",
    "Propagation",
    "RaisedFit",
    "SharedFunction",
    "SharedThings",
    "SharedUnknowns",
    "Solution",
    "SparseSums",
    "StanceLoads",
    "Stated",
    "Supports",
    "Suspect",
    "Term",
    "adjust",
    "both_ways",
    "budget",
    "centre_heights",
    "combined",
    "coupling_share",
    "decks_of",
    "drawn_to_readings",
    "effective_dof",
    "excess_of",
    "expected_elsewhere",
    "expected_loads",
    "extend",
    "fieller",
    "fieller_ends",
    "gravity_factor",
    "joints_of",
    "knowledge_of",
    "laden",
    "line_name",
    "moved_by",
    "normal_gravity",
    "open_directions",
    "prospect",
    "raised_fits",
    "repeatability",
    "solve",
    "span_u",
    "student_probabilities",
    "student_probability",
    "student_quantile",
    "unevenness",
]

_LATER = {
    "ground": ("Effect", "GroundShift", "moved_by"),
    "information": ("Knowledge", "drawn_to_readings", "expected_elsewhere", "expected_loads", "knowledge_of"),
    "several.join": ("DayPart", "JointAdjustment", "SharedFunction", "SharedUnknowns", "Stated"),
    "several.same": ("SharedThings",),
    "system.many": ("GROUNDED", "Lifts", "ManyLoads"),
}
"""Names that are loaded with their file when they are first asked for: the findings of one day do without them."""


def __getattr__(name: str) -> object:
    """A name of ``_LATER``.

    Raises
    ------
    AttributeError: there is no such name.
    """
    return named_later(name, _LATER, globals(), lambda file: import_module(f"steelyard.adjustment.{file}"))
