"""Verification: can these instruments be believed, by how much are they off, and how sure is that?

Owns the tolerances of instruments and what tests show of them. Knows no vehicle. Read ``findings`` or ``report`` next.
"""

from steelyard.verification.cautions import STANDING
from steelyard.verification.judge import Judge, change_point, kept_probability
from steelyard.verification.line import (
    DECLARED_DOF,
    EXPECTED_DOF,
    CalibrationLine,
    Estimate,
    ExpectedScatter,
    scatter_likelihood,
    scatter_of,
    straight_line,
)
from steelyard.verification.relative import Comparison, compare
from steelyard.verification.result import Judgement, VerificationResult, Verified
from steelyard.verification.tolerances import checked, fineness, source_of, steps_of, tolerance_of, zero_return_of
from steelyard.verification.verify import verify

__all__ = [
    "DECLARED_DOF",
    "EXPECTED_DOF",
    "STANDING",
    "CalibrationLine",
    "Comparison",
    "Estimate",
    "ExpectedScatter",
    "Judge",
    "Judgement",
    "VerificationResult",
    "Verified",
    "change_point",
    "checked",
    "compare",
    "fineness",
    "kept_probability",
    "scatter_likelihood",
    "scatter_of",
    "source_of",
    "steps_of",
    "straight_line",
    "tolerance_of",
    "verify",
    "zero_return_of",
]
