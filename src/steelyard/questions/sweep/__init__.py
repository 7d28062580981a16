"""What a log of growing load teaches of a rig."""

from steelyard.questions.sweep.data import lesson, sweep_schema, sweep_to_data, taught
from steelyard.questions.sweep.learned import Learned, SweepAnswer, learn, learned_id
from steelyard.questions.sweep.sums import ADDED

__all__ = [
    "ADDED",
    "Learned",
    "SweepAnswer",
    "learn",
    "learned_id",
    "lesson",
    "sweep_schema",
    "sweep_to_data",
    "taught",
]
