"""``compare``: several rigs side by side, measure by measure, all their days solved together."""

from steelyard.questions.compare.comparison import Compared, ComparedValue, Comparison, Difference
from steelyard.questions.compare.measures import Better, Measure
from steelyard.questions.compare.question import COMPARE, CompareQuestion, rigs_of
from steelyard.questions.compare.together import Rig, Spread
from steelyard.questions.compare.unchanged import ClaimVerdict, Unchanged

__all__ = [
    "COMPARE",
    "Better",
    "ClaimVerdict",
    "CompareQuestion",
    "Compared",
    "ComparedValue",
    "Comparison",
    "Difference",
    "Measure",
    "Rig",
    "Spread",
    "Unchanged",
    "rigs_of",
]
