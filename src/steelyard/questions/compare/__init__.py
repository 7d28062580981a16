"""``compare``: several rigs side by side, measure by measure, all their days solved together."""

from steelyard.questions.compare.comparison import ComparedMeasure, ComparedValue, Difference, RigComparison
from steelyard.questions.compare.measures import Better, RigMeasure
from steelyard.questions.compare.question import COMPARE, CompareQuestion, rigs_of
from steelyard.questions.compare.together import ComparedRig, JointValue
from steelyard.questions.compare.unchanged import ClaimVerdict, Unchanged

__all__ = [
    "COMPARE",
    "Better",
    "ClaimVerdict",
    "CompareQuestion",
    "ComparedMeasure",
    "ComparedRig",
    "ComparedValue",
    "Difference",
    "JointValue",
    "RigComparison",
    "RigMeasure",
    "Unchanged",
    "rigs_of",
]
