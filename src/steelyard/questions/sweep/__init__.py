"""``sweep``: what a log of growing load teaches of the rig."""

from steelyard.questions.sweep.learned import Learned, SweepAnswer, learn, learned_id
from steelyard.questions.sweep.lesson import AnotherVehicleError, kept_lesson, taught
from steelyard.questions.sweep.question import SWEEP, SweepQuestion, sweep
from steelyard.questions.sweep.sums import ADDED

__all__ = [
    "ADDED",
    "SWEEP",
    "AnotherVehicleError",
    "Learned",
    "SweepAnswer",
    "SweepQuestion",
    "kept_lesson",
    "learn",
    "learned_id",
    "sweep",
    "taught",
]
